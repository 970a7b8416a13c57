/** Present values and the last seconds of a channel, as calibration and set-up read them: only what is good, else NaN. */
import { beforeCalibration, type Sample } from '../../shared-core/calibration/reading.ts';
import { identityCalibration } from '../../shared-core/channels/calibration.ts';
import { quality } from '../../shared-core/channels/quality.ts';
import { streamStore } from '../app/stream-store.ts';

/** As the rig sheet in force has it calibrated. */
export function goodValue(key: string): number {
  const { byKey, present } = streamStore('live').getState();
  const at = byKey.get(key)?.ordinal ?? -1;
  return present?.quality[at] === quality.good ? (present.value[at] ?? NaN) : NaN;
}

/**
 * The last seconds of a channel before any calibration of the rig sheet, in
 * order of time, one sample per display step that held one. Where the sensor
 * was not good in a step, the sample is NaN: at rest that must show.
 */
export function recentSamples(key: string, seconds: number): readonly Sample[] {
  const { byKey, ring, layout } = streamStore('live').getState();
  const at = byKey.get(key)?.ordinal ?? -1;
  if (ring === null || at < 0 || ring.count === 0) return [];
  const terms = layout?.rig.calibrations.find((each) => each.channel === key) ?? identityCalibration;
  const samples: Sample[] = [];
  for (let i = ring.firstAfter(ring.newest_us - seconds * 1e6); i < ring.count; i++) {
    const p = ring.at(i);
    const isGood = ring.quality[at]![p] === quality.good;
    const value = ring.last[at]![p]!;
    // A step without a sample of this group says nothing; one with a bad sample does.
    if (isGood && Number.isNaN(value)) continue;
    samples.push({ t_us: ring.to_us[p]!, value: isGood ? beforeCalibration(terms, value, value) : NaN });
  }
  return samples;
}

/** Present value before any calibration of the rig sheet; NaN where it is not good. */
export function rawValue(key: string): number {
  const value = goodValue(key);
  const terms = streamStore('live')
    .getState()
    .layout?.rig.calibrations.find((each) => each.channel === key);
  return terms === undefined ? value : beforeCalibration(terms, value, value);
}
