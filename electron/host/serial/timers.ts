/** Timers as an argument, so that tests need not wait. */
export interface Timers {
  /** Calls `run` once after `delay_ms`. Returns what calls it off. */
  after(delay_ms: number, run: () => void): () => void;
}

export const systemTimers: Timers = {
  after(delay_ms, run) {
    const timer = setTimeout(run, delay_ms);
    return () => clearTimeout(timer);
  },
};
