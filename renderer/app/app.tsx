/** The shell: top line, strips, abort band, then the place. */
import { useEffect } from 'react';
import { AbortBand } from '../alarms/abort-band.tsx';
import { AlarmSound } from '../alarms/alarm-sound.tsx';
import { CoolDownStrip } from '../alarms/cool-down-strip.tsx';
import { LogbookPlace } from '../logbook/logbook-place.tsx';
import { ReviewPlace } from '../review/review-place.tsx';
import { RigPlace } from '../rig/rig-place.tsx';
import { RunPlace } from '../run/run-place.tsx';
import { TrainPlace } from '../train/train-place.tsx';
import { TrainingStrip } from '../train/training-strip.tsx';
import { act, command } from './bridge-client.ts';
import { FirstRun } from './first-run.tsx';
import { useKeys } from './keys.ts';
import { LatencyReport } from './latency-report.tsx';
import { type Place, places, placeTitles } from './places.ts';
import { Strips } from './strips.tsx';
import { TopLine } from './top-line.tsx';
import { goTo, useAddress } from './use-address.ts';

/** Each takes what follows its name in the address. */
const placeViews: Readonly<Record<Place, (props: { readonly rest: readonly string[] }) => React.ReactNode>> = {
  rig: RigPlace,
  run: RunPlace,
  review: ReviewPlace,
  train: TrainPlace,
  logbook: LogbookPlace,
};

export function App() {
  const { place, rest } = useAddress();
  useEffect(() => {
    document.title = `${placeTitles[place]} · Runstand`;
  }, [place]);
  useKeys({
    ...Object.fromEntries(places.map((p, i) => [String(i + 1), () => goTo(p)])),
    a: () => act({ kind: 'acknowledge-all' }),
    // The two safe acts, from any place; both are safe whether outputs are live or not.
    'Shift+T': () => command({ name: 'THROTTLE', permille: 0 }),
    'Shift+I': () => command({ name: 'IGNITION', on: false }),
  });
  const View = placeViews[place];
  return (
    <div className="shell">
      {/* biome-ignore lint/a11y/useValidAnchor: a skip link; the hash is the address of the place, so the jump is made by hand. */}
      <a
        className="skip"
        href="#place"
        onClick={(e) => {
          e.preventDefault();
          document.getElementById('place')?.focus();
        }}
      >
        Skip to the {placeTitles[place]} place
      </a>
      <TopLine place={place} />
      <TrainingStrip />
      <Strips />
      <AbortBand stream="live" />
      <CoolDownStrip />
      <main id="place" tabIndex={-1} aria-label={placeTitles[place]}>
        <View rest={rest} />
      </main>
      <FirstRun />
      <AlarmSound />
      <LatencyReport />
    </div>
  );
}
