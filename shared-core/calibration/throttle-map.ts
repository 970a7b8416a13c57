/**
 * Throttle in percent of travel, and the servo's pulse in µs: a straight line
 * between the two captured ends. A servo that opens towards shorter pulses has
 * `open_us` below `closed_us`.
 */
export interface ThrottleTravel {
  readonly closed_us: number;
  readonly open_us: number;
  /** Pulse change at the closed end before the arm moves; null where it was not looked for. */
  readonly deadZone_us: number | null;
  /** No pulse beyond these is ever asked for. */
  readonly hardLow_us: number;
  readonly hardHigh_us: number;
}

/** Pulse of a demand; below 0 and above 100 % it stays at the end. NaN stays NaN. */
export function pulseOf_us(travel: ThrottleTravel, demand_percent: number): number {
  const part = Math.min(100, Math.max(0, demand_percent)) / 100;
  return travel.closed_us + part * (travel.open_us - travel.closed_us);
}

/** Demand of a pulse, 0 to 100 %; NaN stays NaN. */
export function percentOf(travel: ThrottleTravel, pulse_us: number): number {
  const part = (pulse_us - travel.closed_us) / (travel.open_us - travel.closed_us);
  return 100 * Math.min(1, Math.max(0, part));
}

export function isReversed(travel: ThrottleTravel): boolean {
  return travel.open_us < travel.closed_us;
}
