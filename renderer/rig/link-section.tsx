/** Who the bench is, and how the link to it fares: rates, loss, faults by kind, drift, latency. */

import { faultKinds } from '../../shared-core/line/messages.ts';
import { useScreenLatency } from '../app/screen-latency.ts';
import { useStream } from '../app/stream-store.ts';
import { formatBytes, formatNumber, formatQuantity, NO_VALUE } from '../ui/format.ts';
import { type Fact, Facts, Section } from '../ui/section.tsx';
import { faultWords } from './fault-words.ts';
import { LinkTrends } from './link-trends.tsx';

export function IdentitySection() {
  const identity = useStream('live', (s) => s.snapshot?.identity ?? null);
  return (
    <Section title="Bench" data-testid="rig-identity">
      {identity === null ? (
        <p className="muted">Not known yet: the bench says who it is when the link is up.</p>
      ) : (
        <Facts
          facts={[
            { term: 'Bench', value: identity.bench, testId: 'identity-bench' },
            { term: 'Firmware', value: identity.firmware, testId: 'identity-firmware' },
            { term: 'Line protocol', value: identity.version, testId: 'identity-protocol' },
            { term: 'Boot', value: identity.boot },
            { term: 'Layout', value: identity.layout },
            {
              term: 'Offers',
              value: `${identity.channels} channels in ${identity.groups} groups, ${identity.inputs} inputs`,
            },
          ]}
        />
      )}
    </Section>
  );
}

export function LinkSection() {
  const link = useStream('live', (s) => s.snapshot?.link ?? null);
  const merged = useStream('live', (s) => s.mergedSteps);
  const isUp = useStream('live', (s) => s.snapshot?.source.state === 'open' || s.snapshot?.source.state === 'silent');
  const screen = useScreenLatency();
  const alarms = useStream('live', (s) => s.snapshot?.latency ?? null);
  if (link === null) {
    return (
      <Section title="Link health" data-testid="rig-link">
        <p className="muted">Nothing is connected.</p>
      </Section>
    );
  }
  const { counts } = link;
  const facts: Fact[] = [
    { term: 'Lines', value: perSecond(link.linesPerSecond, isUp), testId: 'link-lines' },
    {
      term: 'Bytes',
      value: isUp && link.bytesPerSecond >= 0 ? `${formatBytes(link.bytesPerSecond)}/s` : NO_VALUE,
      testId: 'link-bytes',
    },
    { term: 'Lost, last 60 s', value: formatQuantity(link.loss_percent, 2, '%'), testId: 'link-loss' },
    { term: 'Accepted', value: formatNumber(counts.accepted, 0), testId: 'link-accepted' },
    { term: 'Missing', value: formatNumber(counts.missing, 0), testId: 'link-missing' },
    {
      term: "Bench clock against this machine's",
      value: Number.isFinite(link.drift_ppm) ? formatQuantity(link.drift_ppm, 0, 'ppm') : 'not known yet',
      testId: 'link-drift',
    },
    { term: 'Silent for', value: isUp ? formatQuantity(link.silentFor_ms / 1000, 1, 's') : NO_VALUE },
    { term: 'Arrival to hand-over', value: formatQuantity(link.hostLatency_ms, 1, 'ms'), testId: 'link-latency' },
    { term: 'Display steps merged', value: formatNumber(merged, 0), testId: 'link-merged' },
  ];
  const latencyFacts: Fact[] = [
    { term: 'Values, half within', value: milliseconds(screen.p50_ms), testId: 'latency-values-p50' },
    { term: 'Values, 99 of 100 within', value: milliseconds(screen.p99_ms), testId: 'latency-values-p99' },
    { term: 'Alarms, half within', value: milliseconds(alarms?.p50_ms ?? NaN), testId: 'latency-alarms-p50' },
    { term: 'Alarms, 99 of 100 within', value: milliseconds(alarms?.p99_ms ?? NaN), testId: 'latency-alarms-p99' },
    {
      term: 'Alarms, slowest of the last 200',
      value: milliseconds(alarms?.worst_ms ?? NaN),
      testId: 'latency-alarms-worst',
    },
    { term: 'Changes of alarms measured', value: formatNumber(alarms?.shown ?? 0, 0), testId: 'latency-alarms-shown' },
  ];
  const seen = faultKinds.filter((kind) => counts.faults[kind] > 0);
  return (
    <Section title="Link health" data-testid="rig-link">
      <Facts facts={facts} />
      <h3 className="faults-title">Over the last ten minutes</h3>
      <LinkTrends />
      <h3 className="faults-title">From the bench's byte to this screen</h3>
      <div data-testid="latency">
        <Facts facts={latencyFacts} />
      </div>
      <h3 className="faults-title">Damaged and unusable lines</h3>
      {seen.length === 0 ? (
        <p className="muted" data-testid="no-faults">
          None since the link began.
        </p>
      ) : (
        <dl className="faults" data-testid="faults">
          {seen.map((kind) => (
            <div key={kind} data-testid={`fault-${kind}`}>
              <dt>
                {faultWords[kind].title} <b>{formatNumber(counts.faults[kind], 0)}</b>
              </dt>
              <dd className="muted">{faultWords[kind].meaning}</dd>
            </div>
          ))}
        </dl>
      )}
      {link.lastFault && (
        <p className="last-fault">
          <span className="muted">Last: {faultWords[link.lastFault.kind].title.toLowerCase()}</span>
          <code data-testid="last-fault">{link.lastFault.excerpt}</code>
        </p>
      )}
    </Section>
  );
}

function milliseconds(value_ms: number): string {
  return Number.isFinite(value_ms) ? formatQuantity(value_ms, 0, 'ms') : 'not yet';
}

function perSecond(rate: number, isUp: boolean): string {
  return isUp ? `${formatNumber(rate, 0)}/s` : NO_VALUE;
}
