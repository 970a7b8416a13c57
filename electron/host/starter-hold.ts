/**
 * The starter, held: from a press that a page repeats to `STARTER 1` that the
 * bench wants renewed (PROTOCOL.md, part 8), with the duty rule in front.
 *
 * No press begins while the list before the start is open, unless somebody has
 * recorded why it is left so.
 *
 * A press ends for good: let go, duty used up, refused, not answered, outputs
 * locked, page silent for long. What is still held down after that must be let
 * go and pressed anew, so that nothing cranks because a cage was closed or a
 * link came back. A page that stutters for a moment lets go, and goes on.
 */
import { err, ok, type Result } from '../../shared-core/base/result.ts';
import type { BridgeError } from '../../shared-core/bridge/contract.ts';
import type { Answer } from '../../shared-core/line/messages.ts';
import type { StarterDuty } from '../../shared-core/pipeline-contract.ts';
import type { StartLists } from '../../shared-core/program/checklist-ticks.ts';
import { ANSWER_WITHIN_MS, type CommandPost } from './command-post.ts';

/** The bench lets go after 250 ms without a new command, and wants one at least every 150 ms. */
const SAY_EVERY_MS = 100;
/** A page repeats its hold; without that for so long the host lets go. */
const HOLD_LASTS_MS = 500;
/** A page that was silent for longer than this after its hold lapsed does not go on with it. */
const STUTTER_MS = 1000;
const REMEMBERED_PRESSES = 32;

export interface HoldWorld {
  now_us(): number;
  /** Of the source's time against real time: above 1 only for a simulator at speed. */
  pace(): number;
  starter(): StarterDuty;
  /** What must be ticked before the engine is cranked. */
  startLists(): StartLists;
}

interface Hold {
  /** Which press of a button; undefined where the caller does not count them. */
  readonly press: number | undefined;
  readonly by: string;
  readonly recordId: string;
  readonly ids: Set<string>;
  until_us: number;
  said_us: number;
  answered_us: number;
}

export class StarterHold {
  readonly #world: HoldWorld;
  readonly #post: CommandPost;
  #hold: Hold | null = null;
  /** Presses that are over, newest last. */
  readonly #over: number[] = [];
  /** The press that lapsed because its page fell silent, and until when it may go on. */
  #lapsed: { readonly press: number; readonly until_us: number } | null = null;

  constructor(world: HoldWorld, post: CommandPost) {
    this.#world = world;
    this.#post = post;
  }

  get isHeld(): boolean {
    return this.#hold !== null;
  }

  /** A press, or its repeat. */
  press(by: string, press: number | undefined): Result<{ id: string }, BridgeError> {
    const hold = this.#hold;
    const lapsed = this.#lapsed;
    if (lapsed !== null && lapsed.press === press && this.#world.now_us() > lapsed.until_us) this.#endPress(press);
    if (press !== undefined && this.#over.includes(press)) {
      return refused('The starter is off: this press is over.', 'Let go of the button and press it again.');
    }
    const duty = this.#world.starter();
    if (duty.left_s <= 0) {
      this.#endPress(press);
      this.end();
      const rest = `Let it rest ${Math.ceil(duty.restLeft_s)} s.`;
      return refused('The starter stays off: it has used up its time.', rest);
    }
    const { open, isOverridden } = this.#world.startLists();
    if (hold === null && open > 0 && !isOverridden) {
      this.#endPress(press);
      const items = open === 1 ? 'one item' : `${open} items`;
      return refused(
        `The starter stays off: ${items} before the start ${open === 1 ? 'is' : 'are'} open.`,
        'Tick them in Run, or record there why they are left open.',
      );
    }
    const now_us = this.#world.now_us();
    const until_us = now_us + HOLD_LASTS_MS * 1000 * Math.max(1, this.#world.pace());
    if (hold !== null) {
      if (hold.press !== press) {
        this.#endPress(press);
        return refused('The starter is held already, by another hand.', 'Wait until it is let go.');
      }
      hold.until_us = until_us;
      return ok({ id: hold.recordId });
    }
    const recordId = this.#post.send(by, { name: 'STARTER', on: true });
    if (recordId === null) {
      this.#endPress(press);
      return { ok: false, error: noLine };
    }
    const ids = new Set([recordId]);
    this.#lapsed = null;
    this.#hold = { press, by, recordId, ids, until_us, said_us: now_us, answered_us: now_us };
    return ok({ id: recordId });
  }

  /** Let go, by whatever hand; said to the bench although nothing is held here. */
  release(by: string, press: number | undefined): Result<{ id: string }, BridgeError> {
    this.#endPress(press);
    this.#forget();
    const id = this.#post.send(by, { name: 'STARTER', on: false });
    return id === null ? { ok: false, error: noLine } : ok({ id });
  }

  /** Ends the press, if there is one, and tells the bench. */
  end(): void {
    const wasHeld = this.#hold !== null;
    this.#forget();
    if (!wasHeld) return;
    // Without a repeat: the bench lets go by itself after 250 ms.
    this.#post.sendQuietly({ name: 'STARTER', on: false });
  }

  answered(answer: Answer): void {
    const hold = this.#hold;
    if (hold?.ids.delete(answer.id) !== true) return;
    this.#post.resolve(hold.recordId, answer);
    if (answer.kind === 'refused') this.end();
    else hold.answered_us = this.#world.now_us();
  }

  idle(): void {
    const hold = this.#hold;
    if (hold === null) return;
    const now_us = this.#world.now_us();
    const isAnswered = now_us - hold.answered_us <= ANSWER_WITHIN_MS * 1000;
    if (hold.until_us < now_us && hold.press !== undefined) {
      const { press, until_us } = hold;
      this.#lapsed = { press, until_us: until_us + STUTTER_MS * 1000 * Math.max(1, this.#world.pace()) };
      this.#hold = null;
      this.#post.sendQuietly({ name: 'STARTER', on: false });
      return;
    }
    if (hold.until_us < now_us || !isAnswered || this.#world.starter().left_s <= 0) {
      this.end();
      return;
    }
    if (now_us - hold.said_us < SAY_EVERY_MS * 1000) return;
    hold.said_us = now_us;
    const id = this.#post.sendQuietly({ name: 'STARTER', on: true });
    if (id !== null) hold.ids.add(id);
  }

  #forget(): void {
    this.#endPress(this.#hold?.press);
    this.#endPress(this.#lapsed?.press);
    this.#lapsed = null;
    this.#hold = null;
  }

  #endPress(press: number | undefined): void {
    if (press === undefined || this.#over.includes(press)) return;
    this.#over.push(press);
    if (this.#over.length > REMEMBERED_PRESSES) this.#over.shift();
  }
}

export const noLine: BridgeError = {
  kind: 'port',
  sentence: 'Not sent: there is no open link to the bench.',
  remedy: 'Act at the stand.',
};

function refused(sentence: string, remedy: string): { readonly ok: false; readonly error: BridgeError } {
  return err({ kind: 'refused', sentence, remedy });
}
