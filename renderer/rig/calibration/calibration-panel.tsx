/** Everything that there is to calibrate, with how it stands today; one guide at a time; all records kept with this rig. */
import { useEffect, useRef, useState } from 'react';
import type { CalibrationRecord } from '../../../shared-core/calibration/record.ts';
import type { Channel } from '../../../shared-core/channels/channel.ts';
import { useStream } from '../../app/stream-store.ts';
import { goTo } from '../../app/use-address.ts';
import { Button } from '../../ui/button.tsx';
import { Empty } from '../../ui/empty.tsx';
import { Section } from '../../ui/section.tsx';
import { SheetTold } from '../save-bar.tsx';
import { loadSheet, useSavedSheet } from '../sheet-store.ts';
import {
  type CalibrationPlace,
  dayOf,
  placesToCalibrate,
  recordFor,
  standingOf,
  standingWords,
} from './calibration-list.ts';
import { DeadWeightGuide } from './dead-weight-guide.tsx';
import { FuelScaleGuide } from './fuel-scale-guide.tsx';
import { FuelZeroGuide } from './fuel-zero-guide.tsx';
import type { GuideProps } from './guide-parts.tsx';
import { PickupGuide } from './pickup-guide.tsx';
import { RecordView } from './record-view.tsx';
import { ThermocoupleGuide } from './thermocouple-guide.tsx';
import { ThrottleGuide } from './throttle-guide.tsx';

const noChannels: readonly Channel[] = [];
const guides: Readonly<Record<CalibrationPlace['kind'], (props: GuideProps) => React.ReactNode>> = {
  thrust: DeadWeightGuide,
  torque: DeadWeightGuide,
  thermocouple: ThermocoupleGuide,
  'rpm-pickup': PickupGuide,
  'fuel-zero': FuelZeroGuide,
  'fuel-scale': FuelScaleGuide,
  'throttle-travel': ThrottleGuide,
};

export function CalibrationPanel({ chosen }: { readonly chosen: string | null }) {
  const channels = useStream('live', (s) => s.layout?.channels ?? noChannels);
  const sheet = useSavedSheet((s) => s.sheet);
  useEffect(() => void loadSheet(), []);
  if (sheet === null)
    return <Empty title="Waiting for the rig sheet">It comes with the first word from the host.</Empty>;
  const places = placesToCalibrate(channels);
  const place = places.find((each) => each.id === chosen);
  const records = sheet.calibrationRecords ?? [];
  if (place !== undefined) {
    const Guide = guides[place.kind];
    const leave = (): void => goTo('rig', 'calibration');
    return (
      <div className="guide" data-testid="guide" data-place={place.id}>
        <GuideHead title={place.title} onLeave={leave} />
        {/* One guide each: what was taken for one channel must not stand in another's. */}
        <Guide key={place.id} place={place} sheet={sheet} onDone={leave} />
      </div>
    );
  }
  const today = dayOf(Date.now());
  return (
    <div data-testid="calibrations">
      <p className="panel-lead">
        Each is guided, with live values, and ends as a record in a new version of the rig sheet. Terms take effect with
        the next session.
      </p>
      <SheetTold />
      {places.length === 0 ? (
        <Empty title="Nothing to calibrate yet" data-testid="no-calibrations">
          Connect a bench at the left: what it measures then stands here.
        </Empty>
      ) : (
        <table className="table" data-testid="calibration-table">
          <caption className="sr-only">Calibrations</caption>
          <thead>
            <tr>
              <th scope="col">What</th>
              <th scope="col">Channels</th>
              <th scope="col">Stands</th>
              <th scope="col">Done</th>
              <th scope="col">Due</th>
              <th scope="col">
                <span className="sr-only">Guide</span>
              </th>
            </tr>
          </thead>
          <tbody>
            {places.map((each) => {
              const record = recordFor(each, records);
              const standing = standingOf(record, today);
              return (
                <tr key={each.id} data-testid={`calibration-${each.id}`} data-standing={standing}>
                  <th scope="row">{each.title}</th>
                  <td>
                    <code>{each.channels.join(', ')}</code>
                  </td>
                  <td>
                    {standing === 'good' ? '✓ ' : <span className="hatch" aria-hidden="true" />}{' '}
                    {standingWords[standing]}
                  </td>
                  <td>{record === undefined ? '' : `${record.date} by ${record.who}`}</td>
                  <td>{record?.dueDate ?? ''}</td>
                  <td className="number">
                    <Button
                      small
                      onClick={() => goTo('rig', 'calibration', each.id)}
                      data-testid={`calibrate-${each.id}`}
                    >
                      Calibrate<span className="sr-only"> {each.title}</span>
                    </Button>
                  </td>
                </tr>
              );
            })}
          </tbody>
        </table>
      )}
      <Records records={records} today={today} />
    </div>
  );
}

function GuideHead({ title, onLeave }: { readonly title: string; readonly onLeave: () => void }) {
  const head = useRef<HTMLHeadingElement>(null);
  useEffect(() => head.current?.focus(), []);
  return (
    <div className="guide-head">
      <h2 ref={head} tabIndex={-1}>
        {title}
      </h2>
      <Button small onClick={onLeave} data-testid="guide-leave">
        Back to the list
      </Button>
    </div>
  );
}

function Records({ records, today }: { readonly records: readonly CalibrationRecord[]; readonly today: string }) {
  const [opened, setOpened] = useState<string | null>(null);
  const newest = records.toReversed();
  const record = newest.find((each) => each.id === opened);
  return (
    <Section title="Records" data-testid="records">
      {newest.length === 0 ? (
        <p className="muted">None yet: values are used as the bench sends them.</p>
      ) : (
        <ul className="record-list">
          {newest.map((each) => (
            <li key={each.id}>
              <Button
                small
                tone="quiet"
                aria-expanded={opened === each.id}
                onClick={() => setOpened(opened === each.id ? null : each.id)}
                data-testid={`record-${each.id}`}
              >
                {each.id}
              </Button>
              <span>
                {each.verdict}, by {each.who}
                {each.dueDate === ''
                  ? ''
                  : each.dueDate < today
                    ? `, was due ${each.dueDate}`
                    : `, due ${each.dueDate}`}
              </span>
            </li>
          ))}
        </ul>
      )}
      {record !== undefined && <RecordView record={record} />}
    </Section>
  );
}
