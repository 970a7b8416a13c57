/**
 * The host's clocks, in one place so that tests can hand in their own.
 */
export interface HostClock {
  /** Monotonic microseconds; its zero means nothing. */
  now_us(): number;
  now_epochMs(): number;
}

export const systemClock: HostClock = {
  now_us: () => performance.now() * 1000,
  now_epochMs: () => Date.now(),
};
