/**
 * Commands to the bench: the permission (outputs locked or live) and the lease
 * that the bench wants renewed. Repeats and answers are in `command-post.ts`,
 * the held starter in `starter-hold.ts`; what the commands do is the bench's,
 * their wire form is in `shared-core/line`.
 *
 * Locked by default. Live falls back by itself: link lost, bench restarted or
 * lease not renewed in time, nobody watching, an abort advisory running, or five
 * minutes without a command while the engine stands.
 *
 * Falling back gives the lease back, and the bench makes its outputs safe at
 * once. One case is different: when an advisory comes up while the engine
 * runs, the permission goes but the lease is kept, because a cut at full heat
 * is what most plans warn of. Nothing can then be switched on or opened; the
 * operator closes the throttle and cuts the ignition when the plan says so.
 */
import { randomBytes } from 'node:crypto';
import { err, ok, type Result } from '../../shared-core/base/result.ts';
import type { BridgeError, OutputsView } from '../../shared-core/bridge/contract.ts';
import type { RunState } from '../../shared-core/limits/rules.ts';
import { hostLeaseLine } from '../../shared-core/line/encoder.ts';
import type { Answer, BenchCommand, InputState } from '../../shared-core/line/messages.ts';
import { CommandPost, isSafeCommand, type PostWorld } from './command-post.ts';
import { type HoldWorld, noLine, StarterHold } from './starter-hold.ts';

/** PROTOCOL.md, part 9: "900 ms renewed every 200 ms is usual". */
const LEASE_MS = 900;
const RENEW_EVERY_MS = 200;
/** A line may be lost: that the lease is given back is said so often, so far apart. */
const GIVE_BACK_TIMES = 4;
const GIVE_BACK_EVERY_MS = 100;
const IDLE_FALLBACK_MS = 300_000;

/** What outputs need of the rest of the host. */
export interface OutputsWorld extends PostWorld, HoldWorld {
  readonly journal: PostWorld['journal'] & { outputs(live: boolean, why: string): void };
  runState(): RunState;
  isLinkUp(): boolean;
  /** Title of the abort advisory whose steps are under way; null without one. */
  runningAbort(): string | null;
  /** Why this bench is only listened to; absent where it takes commands. */
  readonly unavailable?: string | undefined;
}

/** Who commands: the bench knows a host by its name, and a command by its number. */
export interface OutputsSeat {
  readonly host: string;
  readonly nextId: number;
  readonly isLive: boolean;
}

/** `kept`: locked, and the lease renewed for an engine that runs. */
type Permission = 'locked' | 'live' | 'kept';

export class Outputs {
  readonly #world: OutputsWorld;
  readonly #post: CommandPost;
  readonly #starter: StarterHold;
  #permission: Permission = 'locked';
  #why = '';
  #since_us = 0;
  /** The last renewal that went out. */
  #renewed_us = Number.NEGATIVE_INFINITY;
  #tried_us = Number.NEGATIVE_INFINITY;
  /** The bench has said, since going live, that the lease is held. */
  #isLeaseSeen = false;
  #giveBackLeft = 0;
  #givenBack_us = 0;

  /** @param seat of a simulated stand that is gone back to: its bench still holds that host's lease */
  constructor(world: OutputsWorld, seat?: OutputsSeat) {
    this.#world = world;
    const host = seat?.host ?? randomBytes(2).toString('hex').toUpperCase();
    this.#post = new CommandPost(world, host, seat?.nextId ?? 1);
    this.#starter = new StarterHold(world, this.#post);
  }

  get seat(): OutputsSeat {
    return { host: this.#post.host, nextId: this.#post.nextId, isLive: this.#permission !== 'locked' };
  }

  get isLive(): boolean {
    return this.#permission === 'live';
  }

  /** Locked, but the lease is kept for the engine that runs. */
  get isKept(): boolean {
    return this.#permission === 'kept';
  }

  view(): OutputsView {
    const now_us = this.#world.now_us();
    const isTimed = this.#permission === 'kept' || (this.isLive && this.#world.runState() === 'standing');
    return {
      live: this.isLive,
      kept: this.isKept,
      why: this.#why,
      unavailable: this.#world.unavailable,
      liveFor_s: this.isLive ? (now_us - this.#since_us) / 1e6 : 0,
      falls_s: isTimed ? Math.max(0, IDLE_FALLBACK_MS / 1000 - (now_us - this.#lastAct_us()) / 1e6) : null,
      commands: this.#post.records,
    };
  }

  setLive(live: boolean, why: string): Result<null, BridgeError> {
    const refusal = this.#refusal();
    if (refusal !== null) return refusal;
    if (!live) {
      this.#lock(why);
      return ok(null);
    }
    if (this.isLive) return ok(null);
    if (!this.#world.isLinkUp()) {
      return err({
        kind: 'refused',
        sentence: 'Outputs stay locked: the bench is not heard.',
        remedy: 'Bring the link up first (Rig), then go live.',
      });
    }
    const abort = this.#world.runningAbort();
    if (abort !== null) {
      return err({
        kind: 'refused',
        sentence: `Outputs stay locked: the advisory "${abort}" is running.`,
        remedy: 'Go through its steps and close it, then go live. Throttle closed and ignition off work locked, too.',
      });
    }
    this.#renew();
    if (this.#renewed_us !== this.#tried_us) return err(noLine);
    this.#isLeaseSeen = false;
    this.#giveBackLeft = 0;
    this.#turn('live', why);
    return ok(null);
  }

  command(by: string, command: BenchCommand): Result<{ id: string }, BridgeError> {
    const refusal = this.#refusal();
    if (refusal !== null) return refusal;
    if (command.name === 'STARTER') {
      if (!command.on) return this.#starter.release(by, undefined);
      return err({
        kind: 'refused',
        sentence: 'Not sent: the starter is held, not switched.',
        remedy: 'Hold the button.',
      });
    }
    if (!isSafeCommand(command)) {
      this.#look();
      if (!this.isLive) {
        return err({
          kind: 'refused',
          sentence: this.isKept
            ? 'Not sent: outputs are locked while the advisory runs.'
            : 'Not sent: outputs are locked.',
          remedy: 'Make outputs live first; that is a deliberate act in two steps.',
        });
      }
    }
    const id = this.#post.send(by, command);
    return id === null ? err(noLine) : ok({ id });
  }

  /**
   * Starts, prolongs or ends a hold of the starter.
   *
   * @param press which press of the button: one that has ended is not taken up again
   */
  holdStarter(by: string, held: boolean, press?: number): Result<{ id: string }, BridgeError> {
    const refusal = this.#refusal();
    if (refusal !== null) return refusal;
    if (!held) return this.#starter.release(by, press);
    this.#look();
    if (!this.isLive) {
      return err({
        kind: 'refused',
        sentence: 'The starter stays off: outputs are locked.',
        remedy: 'Make outputs live first.',
      });
    }
    return this.#starter.press(by, press);
  }

  /** An answer from the bench; those to other hosts are not ours. */
  answered(answer: Answer): void {
    if (answer.host !== this.#post.host) return;
    this.#post.answered(answer);
    this.#starter.answered(answer);
  }

  /** The bench's word on its lease. Once it has let go, its outputs are off, and only the operator goes live again. */
  leaseSaid(state: InputState): void {
    if (this.#permission === 'locked') return;
    if (state === 1) this.#isLeaseSeen = true;
    if (state === 0 && this.#isLeaseSeen) this.#lock('the bench let the lease go');
  }

  /** Another boot of the bench: all that it had is off. */
  benchRestarted(): void {
    this.#lock('the bench restarted');
  }

  /** No page is left that somebody could see. */
  pageGone(why = 'no page open'): void {
    this.#lock(why);
  }

  /** Called about every 20 ms by the host. */
  idle(): void {
    this.#look();
    const now_us = this.#world.now_us();
    if (this.#permission !== 'locked') {
      if (now_us - this.#tried_us >= RENEW_EVERY_MS * 1000) this.#renew();
    } else if (this.#giveBackLeft > 0 && now_us - this.#givenBack_us >= GIVE_BACK_EVERY_MS * 1000) {
      this.#giveBack();
    }
    this.#starter.idle();
    this.#post.idle();
  }

  /** Falls back where it must. */
  #look(): void {
    if (this.#permission === 'locked') return;
    const now_us = this.#world.now_us();
    const state = this.#world.runState();
    const isQuiet = now_us - this.#lastAct_us() > IDLE_FALLBACK_MS * 1000 && !this.#starter.isHeld;
    if (!this.#world.isLinkUp()) this.#lock('link lost');
    // A host that stood still, or a line that takes nothing: the bench has made its outputs safe meanwhile.
    else if (now_us - this.#renewed_us > LEASE_MS * 1000) this.#lock('the lease could not be renewed in time');
    else if (this.#permission === 'kept') {
      if (state === 'standing' || state === 'cooling') this.#lock('the engine has stopped');
      else if (isQuiet) this.#lock('no command for five minutes');
    } else {
      if (isQuiet && state === 'standing') {
        this.#lock('no command for five minutes');
        return;
      }
      const abort = this.#world.runningAbort();
      if (abort !== null) this.#fallForAdvisory(abort, state);
    }
  }

  #fallForAdvisory(title: string, state: RunState): void {
    const why = `advisory running: ${title}`;
    if (state !== 'running') {
      this.#lock(why);
      return;
    }
    this.#starter.end();
    this.#post.withdraw('outputs were locked');
    this.#turn('kept', `${why}; the lease is kept while the engine runs`);
  }

  #lock(why: string): void {
    if (this.#permission === 'locked') return;
    this.#starter.end();
    this.#post.withdraw('outputs were locked');
    this.#turn('locked', why);
    this.#giveBackLeft = GIVE_BACK_TIMES;
    this.#giveBack();
  }

  #turn(to: Permission, why: string): void {
    this.#permission = to;
    this.#why = why;
    this.#since_us = this.#world.now_us();
    this.#world.journal.outputs(to === 'live', why);
  }

  #lastAct_us(): number {
    return Math.max(this.#since_us, this.#post.lastSent_us);
  }

  #refusal(): { readonly ok: false; readonly error: BridgeError } | null {
    const sentence = this.#world.unavailable;
    return sentence === undefined ? null : err({ kind: 'refused', sentence, remedy: 'Act at the stand.' });
  }

  #renew(): void {
    this.#tried_us = this.#world.now_us();
    if (this.#world.write(hostLeaseLine(this.#post.host, LEASE_MS))) this.#renewed_us = this.#tried_us;
  }

  #giveBack(): void {
    this.#giveBackLeft -= 1;
    this.#givenBack_us = this.#world.now_us();
    this.#world.write(hostLeaseLine(this.#post.host, 0));
  }
}
