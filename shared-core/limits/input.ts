/**
 * A discrete input in its bad state. Not known (`X`) is bad: a stop circuit
 * that nobody can read is not healthy.
 */
import type { InputState } from '../line/messages.ts';
import { type Delayed, stepDelayed } from './delayed.ts';
import type { InputRule } from './rules.ts';

export function stepInput(rule: InputRule, delayed: Delayed, t_us: number, state: InputState): boolean {
  const isBad = state === 'X' || state === rule.badState;
  return stepDelayed(delayed, t_us, isBad, !isBad, rule.onDelay_ms, 0);
}
