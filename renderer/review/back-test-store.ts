/**
 * The back-test that is set up, running or done. It lives beside the panel, so
 * that it goes on while another tab or session is looked at.
 */
import { create } from 'zustand';
import type { BacktestView } from '../../shared-core/bridge/contract.ts';
import type { LimitRule } from '../../shared-core/limits/rules.ts';
import { request } from '../app/bridge-client.ts';
import { tellError } from '../app/messages.ts';

export interface BackTestState {
  /** Chosen rule, by id; null: the first. */
  readonly ruleId: string | null;
  /** The rule as changed; null while it is as recorded. */
  readonly changed: LimitRule | null;
  /** Sessions to try it on, by id; null: the one that is open. */
  readonly sessions: readonly string[] | null;
  readonly view: BacktestView | null;
  /** What was tried, for reading `view`. */
  readonly tried: LimitRule | null;
  readonly isRunning: boolean;
  /** What became of taking it into the rig sheet. */
  readonly saved: string;
}

const atFirst: BackTestState = {
  ruleId: null,
  changed: null,
  sessions: null,
  view: null,
  tried: null,
  isRunning: false,
  saved: '',
};

export const useBackTest = create<BackTestState>(() => atFirst);

const ASK_EVERY_MS = 200;
let timer: ReturnType<typeof setInterval> | null = null;
/** Known before the first view of it has come, so that it can be cancelled at once. */
let running: string | null = null;

function end(): void {
  if (timer !== null) clearInterval(timer);
  timer = null;
  running = null;
  useBackTest.setState({ isRunning: false });
}

export async function startBackTest(rule: LimitRule, sessions: readonly string[]): Promise<void> {
  end();
  useBackTest.setState({ saved: '', view: null, tried: rule, isRunning: true });
  const begun = await request('backtest.start', { sessions: [...sessions], rules: [rule] });
  if (!begun.ok) {
    end();
    tellError(begun.error);
    return;
  }
  const { id } = begun.value;
  running = id;
  timer = setInterval(async () => {
    const answer = await request('backtest.result', { id });
    // Another one was started, or this one has ended, while the host was asked.
    if (timer === null) return;
    if (!answer.ok) {
      end();
      tellError(answer.error);
      return;
    }
    if (answer.value.id !== id) return;
    useBackTest.setState({ view: answer.value });
    if (answer.value.state !== 'running') end();
  }, ASK_EVERY_MS);
}

export function cancelBackTest(): void {
  if (running !== null) void request('backtest.cancel', { id: running });
}
