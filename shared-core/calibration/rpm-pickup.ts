/**
 * The rpm pickup: markers per revolution, agreement with a second source
 * (ignition, a tachometer read by hand), and pulses that go missing or come
 * twice, found in the trace itself.
 */
import { err, ok, type Result } from '../base/result.ts';
import type { ChannelKey } from '../channels/channel.ts';
import { combined, distributions, expanded } from '../fit/uncertainty.ts';
import { univariate } from '../fit/univariate.ts';
import { type CalibrationRecord, dueDate, figure, type RecordHead, verdictOf } from './record.ts';

/** Shown where the pickup is set up. Common practice; we know of no source. */
export const PICKUP_GAP_ADVICE =
  'Optical pickup: 3 to 5 cm from the marker, square to it, no sun in its eye (common practice).';

/** One steady speed, read from the channel and from the second source. */
export interface SpeedPair {
  readonly channel_rpm: number;
  readonly reference_rpm: number;
}

export interface PickupCheck {
  readonly channel: ChannelKey;
  /** As set at the bench. */
  readonly markers: number;
  readonly pairs: readonly SpeedPair[];
  /** "tachometer, by hand", "ignition". */
  readonly secondSource: string;
  /** Half-width of the second source, relative: 0.01 for a hand tachometer of 1 %. */
  readonly referenceHalfWidth_relative: number;
  /** Largest disagreement allowed, percent. */
  readonly tolerance_percent: number;
  /** From `pulseFaults`, over a trace at steady speed; null where none was taken. */
  readonly faults: PulseFaults | null;
}

export interface MarkerFinding {
  /** Channel over reference. */
  readonly ratio: number;
  /** Markers that would make both agree; null where no whole number does within 2 %. */
  readonly likelyMarkers: number | null;
  readonly sentence: string;
}

/** What the ratio of the two says of the markers: 2.00 with one marker set means that two go by. */
export function markerFinding(markers: number, pairs: readonly SpeedPair[]): MarkerFinding {
  const ratio = univariate(pairs.map((each) => each.channel_rpm / each.reference_rpm)).mean;
  const likely = Math.round(markers * ratio);
  const isWhole = likely >= 1 && Math.abs((markers * ratio) / likely - 1) < 0.02;
  if (!isWhole) {
    return {
      ratio,
      likelyMarkers: null,
      sentence: `The channel reads ${ratio.toFixed(3)} times the second source: no number of markers explains that. Look for missing pulses or light from elsewhere.`,
    };
  }
  return likely === markers
    ? { ratio, likelyMarkers: markers, sentence: `${markers} per revolution is right.` }
    : {
        ratio,
        likelyMarkers: likely,
        sentence: `The channel reads ${ratio.toFixed(3)} times the second source: ${likely} go by per revolution, ${markers} are set.`,
      };
}

export interface PulseFaults {
  readonly samples: number;
  /** Samples that fell, and came back, as a shaft cannot: a pulse was missed. */
  readonly missing: number;
  /** The same upwards: a pulse was seen that is none. */
  readonly extra: number;
  /** Where, as indices of the trace; at most 100. */
  readonly at: readonly number[];
  /** True if too few samples are good, or the speed changed, so that nothing can be said. */
  readonly isInconclusive: boolean;
  readonly sentence: string;
}

/** A step of this much and back within three samples is no change of speed. */
const STEP = 0.12;
const LONGEST_SPIKE = 3;

/**
 * Looks for short dips and spikes against the neighbourhood's median. Dips are
 * missed pulses (a period taken for two), spikes extra ones.
 * @param trace_rpm in order of time, at a steady speed; NaN where not good
 */
export function pulseFaults(trace_rpm: ArrayLike<number>): PulseFaults {
  const trace = Array.from(trace_rpm);
  const good = trace.filter((each) => each > 0);
  const middle = medianOf(good);
  const none = { samples: trace.length, missing: 0, extra: 0, at: [], isInconclusive: true };
  if (good.length < 20)
    return { ...none, sentence: 'Too short: at least 20 good samples at a steady speed are needed.' };
  const late = medianOf(good.slice(-Math.ceil(good.length / 4)));
  const early = medianOf(good.slice(0, Math.ceil(good.length / 4)));
  if (Math.abs(late - early) > 0.1 * middle) {
    return { ...none, sentence: 'The speed changed too much: hold it steady and take the trace again.' };
  }
  const at: number[] = [];
  let missing = 0;
  let extra = 0;
  let i = 0;
  while (i < trace.length) {
    const around = medianOf(trace.slice(Math.max(0, i - 7), i + 8).filter((each) => each > 0));
    const side = sideOf(trace[i]!, around);
    let end = i + 1;
    while (end < trace.length && side !== 0 && sideOf(trace[end]!, around) === side) end++;
    if (side !== 0 && end - i <= LONGEST_SPIKE) {
      if (side < 0) missing++;
      else extra++;
      if (at.length < 100) at.push(i);
    }
    i = end;
  }
  const count = missing + extra;
  return {
    samples: trace.length,
    missing,
    extra,
    at,
    isInconclusive: false,
    sentence:
      count === 0
        ? 'No pulse is missing and none too many.'
        : `${missing} times a pulse was missed, ${extra} times one too many came, in ${trace.length} samples. Check gap, marker and light.`,
  };
}

export function rpmPickupRecord(check: PickupCheck, head: RecordHead): Result<CalibrationRecord, string> {
  const { pairs, channel, markers } = check;
  if (pairs.length === 0) return err('Take at least one speed from both sources.');
  if (pairs.some((each) => !(each.channel_rpm > 0) || !(each.reference_rpm > 0))) {
    return err('Both sources must give a speed above 0: take it with the shaft turning.');
  }
  if (!Number.isInteger(markers) || markers < 1) return err('Markers per revolution are a whole number from 1.');
  const errors_percent = pairs.map((each) => 100 * (each.channel_rpm / each.reference_rpm - 1));
  const worst = errors_percent.reduce((a, b) => (Math.abs(b) > Math.abs(a) ? b : a));
  const finding = markerFinding(markers, pairs);
  const faults = check.faults;
  const figures = [
    figure('Largest disagreement', worst, '%', check.tolerance_percent),
    figure('Missing pulses', faults === null || faults.isInconclusive ? NaN : faults.missing, '1', 0),
    figure('Extra pulses', faults === null || faults.isInconclusive ? NaN : faults.extra, '1', 0),
  ];
  const spread = pairs.length > 1 ? univariate(errors_percent).sd / Math.sqrt(pairs.length) : 0;
  const sum = combined([
    {
      name: 'second source',
      u: distributions.rectangular(100 * check.referenceHalfWidth_relative),
      degreesOfFreedom: Number.POSITIVE_INFINITY,
    },
    { name: 'scatter', u: spread, degreesOfFreedom: Math.max(1, pairs.length - 1) },
  ]);
  const { U, k } = expanded(sum, 0.95);
  return ok({
    id: head.id,
    kind: 'rpm-pickup',
    channels: [channel],
    date: head.date,
    who: head.who,
    method: `Compared with ${check.secondSource} at ${pairs.length} speeds; ${markers} markers per revolution.`,
    reference: head.reference,
    data: {
      columns: [
        { name: 'Channel', unit: 'rpm' },
        { name: 'Second source', unit: 'rpm' },
        { name: 'Disagreement', unit: '%' },
      ],
      rows: pairs.map((each, i) => [each.channel_rpm, each.reference_rpm, errors_percent[i]!]),
    },
    figures,
    verdict: verdictOf(figures),
    findings: [
      finding.sentence,
      faults === null ? 'No trace was taken: missing pulses are not known.' : faults.sentence,
      PICKUP_GAP_ADVICE,
    ],
    uncertainty: { U, unit: '%', k, p: 0.95, parts: sum.contributions.map(({ name, u }) => ({ name, u })) },
    dueDate: dueDate(head.date, head.dueAfter_months),
    // A wrong number of markers is set right at the bench, not hidden in a factor.
    calibrations: [],
  });
}

/** −1 for a dip, 1 for a spike, 0 for neither; a sample that is not good is neither. */
function sideOf(value: number, around: number): -1 | 0 | 1 {
  if (!(value > 0)) return value === 0 ? -1 : 0;
  if (value < around * (1 - STEP)) return -1;
  return value > around * (1 + STEP) ? 1 : 0;
}

function medianOf(values: readonly number[]): number {
  if (values.length === 0) return NaN;
  const sorted = [...values].sort((a, b) => a - b);
  const half = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[half]! : (sorted[half - 1]! + sorted[half]!) / 2;
}
