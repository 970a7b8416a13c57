/**
 * Thermocouples at two points that need no calibrator: melting ice (0 °C) and
 * water boiling at the pressure of the day. The check finds swapped leads and
 * probes not in the bath; its terms are an offset, or offset and slope.
 *
 * Heads and exhausts run far above 100 °C: the record says that the terms are
 * carried on beyond the points.
 */
import { err, ok, type Result } from '../base/result.ts';
import type { ChannelKey } from '../channels/channel.ts';
import { combined, distributions, expanded } from '../fit/uncertainty.ts';
import { boilingPoint_degC } from './boiling-point.ts';
import { type CalibrationRecord, dueDate, figure, type RecordHead, verdictOf } from './record.ts';

export interface BathReading {
  /** Mean at rest, °C, before any calibration. */
  readonly mean_degC: number;
  readonly u_degC: number;
}

export interface TwoPointCheck {
  readonly channel: ChannelKey;
  readonly ice: BathReading;
  readonly boiling: BathReading;
  /** Of the day and place, from the barometer, not reduced to sea level. */
  readonly pressure_hPa: number;
  /** Largest error allowed, set by the user: 2.5 °C is what wire of class 2 may have up to 333 °C (IEC 60584-1, from memory). */
  readonly tolerance_degC: number;
  /** `offset` shifts; `offset-and-slope` goes through both points. */
  readonly terms: 'offset' | 'offset-and-slope';
}

/** Stirred, clean ice and water; impurities and gradients in the bath. Our estimate. */
const ICE_HALF_WIDTH_K = 0.2;
/** A pot on a hob: superheat, depth, and half a hPa of the barometer. Our estimate. */
const BOILING_HALF_WIDTH_K = 0.5;

export function thermocoupleRecord(check: TwoPointCheck, head: RecordHead): Result<CalibrationRecord, string> {
  const { ice, boiling, tolerance_degC, channel } = check;
  const boilsAt_degC = boilingPoint_degC(check.pressure_hPa);
  if (!(check.pressure_hPa >= 500 && check.pressure_hPa <= 1100)) {
    return err(`An air pressure of ${check.pressure_hPa} hPa is not one of this earth's workshops (500 to 1,100 hPa).`);
  }
  if (!Number.isFinite(ice.mean_degC) || !Number.isFinite(boiling.mean_degC)) {
    return err('The probe gives no good reading in one of the baths: look for a broken lead.');
  }
  const rise = boiling.mean_degC - ice.mean_degC;
  if (rise < 0) {
    return err('It reads colder in boiling water than in ice: the leads of this thermocouple are swapped.');
  }
  if (rise < 0.5 * boilsAt_degC) {
    return err(
      'It hardly moves between ice and boiling water: the probe that is in the bath is not the one on this channel.',
    );
  }
  const errors = { ice: ice.mean_degC, boiling: boiling.mean_degC - boilsAt_degC };
  const a1 = check.terms === 'offset' ? 1 : boilsAt_degC / rise;
  const a0 = check.terms === 'offset' ? -(errors.ice + errors.boiling) / 2 : -a1 * ice.mean_degC;
  const left = {
    ice: a0 + a1 * ice.mean_degC,
    boiling: a0 + a1 * boiling.mean_degC - boilsAt_degC,
  };
  const figures = [
    figure('Error in ice', errors.ice, '°C', tolerance_degC),
    figure(`Error at boiling, ${boilsAt_degC.toFixed(2)} °C`, errors.boiling, '°C', tolerance_degC),
  ];
  const sum = combined([
    { name: 'ice bath', u: distributions.rectangular(ICE_HALF_WIDTH_K), degreesOfFreedom: Number.POSITIVE_INFINITY },
    {
      name: 'boiling water',
      u: distributions.rectangular(BOILING_HALF_WIDTH_K),
      degreesOfFreedom: Number.POSITIVE_INFINITY,
    },
    { name: 'readings', u: Math.hypot(finite(ice.u_degC), finite(boiling.u_degC)), degreesOfFreedom: 9 },
    {
      name: 'left after the terms',
      u: distributions.rectangular(Math.max(Math.abs(left.ice), Math.abs(left.boiling))),
      degreesOfFreedom: Number.POSITIVE_INFINITY,
    },
  ]);
  const { U, k } = expanded(sum, 0.95);
  return ok({
    id: head.id,
    kind: 'thermocouple',
    channels: [channel],
    date: head.date,
    who: head.who,
    method: `Ice, and water boiling at ${check.pressure_hPa} hPa (${boilsAt_degC.toFixed(2)} °C by IAPWS R7-97); ${
      check.terms === 'offset' ? 'offset' : 'offset and slope'
    }.`,
    reference: head.reference,
    data: {
      columns: [
        { name: 'Bath', unit: '' },
        { name: 'Temperature', unit: '°C' },
        { name: 'Reading', unit: '°C' },
        { name: 'Error', unit: '°C' },
        { name: 'Left after the terms', unit: '°C' },
      ],
      rows: [
        ['ice', 0, ice.mean_degC, errors.ice, left.ice],
        ['boiling water', boilsAt_degC, boiling.mean_degC, errors.boiling, left.boiling],
      ],
    },
    figures,
    verdict: verdictOf(figures),
    findings: [
      "The points lie at or below 100 °C; above, the terms are carried on and the wire's own tolerance counts.",
    ],
    uncertainty: {
      U,
      unit: '°C',
      k,
      p: 0.95,
      parts: sum.contributions.map(({ name, u }) => ({ name, u })).sort((x, y) => y.u - x.u),
    },
    dueDate: dueDate(head.date, head.dueAfter_months),
    calibrations: [{ channel, a0, a1, a2: 0, tare: 0, note: head.id }],
  });
}

export interface WarmedProbe {
  readonly channel: ChannelKey;
  /** Rise since the warm hand or heat gun was held to the probe, K; NaN where the channel is not good. */
  readonly rise_K: number;
}

/**
 * Which thermocouple moves when one probe is warmed: finds channels that are
 * swapped between cylinders.
 * @param least_K rise that counts as moved
 */
export function warmedChannel(
  probes: readonly WarmedProbe[],
  expected: ChannelKey,
  least_K: number,
): { readonly moved: ChannelKey | null; readonly sentence: string } {
  const sorted = probes.filter((each) => Number.isFinite(each.rise_K)).sort((a, b) => b.rise_K - a.rise_K);
  const [first, second] = sorted;
  const dead = probes.find((each) => each.channel === expected && !Number.isFinite(each.rise_K));
  if (dead !== undefined) return { moved: null, sentence: `${expected} gives no good reading: open or short.` };
  const falling = probes.find((each) => each.channel === expected && each.rise_K <= -least_K);
  if (falling !== undefined) {
    return { moved: expected, sentence: `${expected} falls when it is warmed: its leads are swapped.` };
  }
  if (first === undefined || first.rise_K < least_K) {
    return { moved: null, sentence: `No channel rose by ${least_K} K yet: warm the probe longer.` };
  }
  if (second !== undefined && second.rise_K > first.rise_K / 2) {
    return { moved: null, sentence: `${first.channel} and ${second.channel} both rise: warm one probe only.` };
  }
  return first.channel === expected
    ? { moved: expected, sentence: `${expected} rises: the probe is on its channel.` }
    : {
        moved: first.channel,
        sentence: `${first.channel} rises instead of ${expected}: the two are swapped, at the plug or in the channel set-up.`,
      };
}

function finite(value: number): number {
  return Number.isFinite(value) ? value : 0;
}
