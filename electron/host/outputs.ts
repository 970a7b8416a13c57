/**
 * Commands to the bench: the permission (outputs locked or live), the lease
 * that the bench wants renewed, ids, repeats, answers, and the held starter.
 * What the commands do is the bench's; their wire form is in `shared-core/line`.
 *
 * Locked by default. Live falls back by itself: link lost, no page left open,
 * or five minutes without a command while the engine stands.
 */
import { randomBytes } from 'node:crypto';
import { err, ok, type Result } from '../../shared-core/base/result.ts';
import type { BridgeError, CommandRecord, OutputsView } from '../../shared-core/bridge/contract.ts';
import type { RunState } from '../../shared-core/limits/rules.ts';
import { hostCommandLine, hostLeaseLine } from '../../shared-core/line/encoder.ts';
import type { Answer, BenchCommand } from '../../shared-core/line/messages.ts';
import type { StarterDuty } from '../../shared-core/pipeline-contract.ts';

/** PROTOCOL.md, part 9: "900 ms renewed every 200 ms is usual". */
const LEASE_MS = 900;
const RENEW_EVERY_MS = 200;
/** PROTOCOL.md, part 8: an answer comes within 200 ms; the line's own time on top. */
const ANSWER_WITHIN_MS = 350;
const TRIES = 3;
/** PROTOCOL.md, part 8: the starter lets go after 250 ms without a new command. */
const STARTER_REPEAT_MS = 100;
/** A page repeats its hold; without that for so long the host lets go. */
const HOLD_LASTS_MS = 500;
const IDLE_FALLBACK_MS = 300_000;
const KEPT_RECORDS = 20;

const reasonWords: Readonly<Record<string, string>> = {
  UNKNOWN: 'the bench does not know this command',
  ARGUMENT: 'the bench does not take this value',
  'NO-LEASE': 'the bench has no lease from here',
  LEASED: 'another host holds the bench',
  'STOP-OPEN': 'the stop circuit is open',
  'CAGE-OPEN': 'the propeller cage is open',
  'SUPPLY-OFF': 'the supply that this needs is off',
  MOVING: 'only with the shaft at rest',
  UNSETTLED: 'the reading has not settled',
  BUSY: 'the bench is busy with another command',
  FAULT: 'fault at the bench',
};

/** What outputs need of the rest of the host. */
export interface OutputsWorld {
  write(bytes: Uint8Array): boolean;
  readonly journal: {
    command(id: string, command: BenchCommand, by: string): void;
    unanswered(id: string): void;
    outputs(live: boolean, why: string): void;
  };
  /** Of the source's time against real time: above 1 only for a simulator at speed. */
  pace(): number;
  now_us(): number;
  /** Session time, for the records. */
  session_us(): number;
  starter(): StarterDuty;
  runState(): RunState;
  isLinkUp(): boolean;
  /** Why this bench is only listened to; absent where it takes commands. */
  readonly unavailable?: string | undefined;
}

interface Pending {
  readonly line: Uint8Array;
  tries: number;
  sentAt_us: number;
}

/** A command that makes things safer goes out whether outputs are live or not. */
export function isSafeCommand(command: BenchCommand): boolean {
  switch (command.name) {
    case 'THROTTLE':
      return command.permille === 0;
    case 'IGNITION':
    case 'STARTER':
    case 'SERVO':
    case 'SUPPLY':
      return !command.on;
    default:
      // Identify, tares, fuel meter and fan need no lease (PROTOCOL.md, part 8).
      return true;
  }
}

/** Who commands: the bench knows a host by its name, and a command by its number. */
export interface OutputsSeat {
  readonly host: string;
  readonly nextId: number;
  readonly isLive: boolean;
}

export class Outputs {
  readonly #world: OutputsWorld;
  readonly #host: string;
  #nextId: number;
  #live = false;
  #liveSince_us = 0;
  #lastRenewed_us = -Infinity;
  #lastCommand_us = 0;
  #heldUntil_us = -Infinity;
  #starterBy = '';
  #lastStarter_us = -Infinity;
  #starterRecordId: string | null = null;
  readonly #pending = new Map<string, Pending>();
  #records: CommandRecord[] = [];

  /** @param seat of a simulated stand that is gone back to: its bench still holds that host's lease */
  constructor(world: OutputsWorld, seat?: OutputsSeat) {
    this.#world = world;
    this.#host = seat?.host ?? randomBytes(2).toString('hex').toUpperCase();
    this.#nextId = seat?.nextId ?? 1;
  }

  get seat(): OutputsSeat {
    return { host: this.#host, nextId: this.#nextId, isLive: this.#live };
  }

  get isLive(): boolean {
    return this.#live;
  }

  view(): OutputsView {
    const now_us = this.#world.now_us();
    return {
      live: this.#live,
      unavailable: this.#world.unavailable,
      liveFor_s: this.#live ? (now_us - this.#liveSince_us) / 1e6 : 0,
      falls_s:
        this.#live && this.#world.runState() === 'standing'
          ? Math.max(0, IDLE_FALLBACK_MS / 1000 - (now_us - this.#lastCommand_us) / 1e6)
          : null,
      commands: this.#records,
    };
  }

  setLive(live: boolean, why: string): Result<null, BridgeError> {
    if (live === this.#live) return ok(null);
    const refusal = this.#refusal();
    if (refusal !== null) return refusal;
    if (live && !this.#world.isLinkUp()) {
      return err({
        kind: 'refused',
        sentence: 'Outputs stay locked: the bench is not heard.',
        remedy: 'Bring the link up first (Rig), then go live.',
      });
    }
    this.#live = live;
    this.#liveSince_us = this.#world.now_us();
    this.#lastCommand_us = this.#liveSince_us;
    this.#heldUntil_us = -Infinity;
    this.#world.journal.outputs(live, why);
    if (live) {
      this.#renew();
    } else {
      this.#world.write(hostLeaseLine(this.#host, 0));
    }
    return ok(null);
  }

  command(by: string, command: BenchCommand): Result<{ id: string }, BridgeError> {
    const refusal = this.#refusal();
    if (refusal !== null) return refusal;
    if (!this.#live && !isSafeCommand(command)) {
      return err({
        kind: 'refused',
        sentence: 'Not sent: outputs are locked.',
        remedy: 'Make outputs live first; that is a deliberate act in two steps.',
      });
    }
    if (command.name === 'STARTER' && command.on) return this.holdStarter(by, true);
    if (command.name === 'STARTER') this.#heldUntil_us = -Infinity;
    const id = this.#send(by, command, true);
    return id === null
      ? err({ kind: 'port', sentence: 'Not sent: there is no open link to the bench.', remedy: 'Act at the stand.' })
      : ok({ id });
  }

  /** Starts, prolongs or ends a hold of the starter. */
  holdStarter(by: string, held: boolean): Result<{ id: string }, BridgeError> {
    const refusal = this.#refusal();
    if (refusal !== null) return refusal;
    if (!held) {
      this.#heldUntil_us = -Infinity;
      const id = this.#send(by, { name: 'STARTER', on: false }, true);
      return ok({ id: id ?? '' });
    }
    if (!this.#live) {
      return err({
        kind: 'refused',
        sentence: 'The starter stays off: outputs are locked.',
        remedy: 'Make outputs live first.',
      });
    }
    const duty = this.#world.starter();
    if (duty.left_s <= 0) {
      this.#heldUntil_us = -Infinity;
      return err({
        kind: 'refused',
        sentence: 'The starter stays off: it has used up its time.',
        remedy: `Let it rest ${Math.ceil(duty.restLeft_s)} s.`,
      });
    }
    const now_us = this.#world.now_us();
    const isNew = now_us > this.#heldUntil_us;
    this.#heldUntil_us = now_us + HOLD_LASTS_MS * 1000 * Math.max(1, this.#world.pace());
    this.#starterBy = by;
    if (isNew) {
      this.#starterRecordId = this.#send(by, { name: 'STARTER', on: true }, true);
      this.#lastStarter_us = now_us;
    }
    return ok({ id: this.#starterRecordId ?? '' });
  }

  /** An answer from the bench; those to other hosts are not ours. */
  answered(answer: Answer): void {
    if (answer.host !== this.#host) return;
    this.#pending.delete(answer.id);
    const reason =
      answer.kind === 'refused'
        ? [reasonWords[answer.reason] ?? answer.reason, ...answer.words].join(' ')
        : answer.fields.join(' ');
    this.#records = this.#records.map((each) =>
      each.id === answer.id ? { ...each, outcome: answer.kind, reason } : each,
    );
    if (answer.kind === 'refused') this.#heldUntil_us = -Infinity;
  }

  /** Called about every 20 ms by the host. */
  idle(): void {
    const now_us = this.#world.now_us();
    if (this.#live) {
      if (!this.#world.isLinkUp()) this.setLive(false, 'link lost');
      else if (
        this.#world.runState() === 'standing' &&
        now_us - this.#lastCommand_us > IDLE_FALLBACK_MS * 1000 &&
        this.#heldUntil_us < now_us
      ) {
        this.setLive(false, 'no command for five minutes');
      } else if (now_us - this.#lastRenewed_us >= RENEW_EVERY_MS * 1000) this.#renew();
    }
    this.#keepStarter(now_us);
    this.#repeatUnanswered(now_us);
  }

  /** The last page has gone: nobody is there to act. */
  pageGone(): void {
    if (this.#live) this.setLive(false, 'no page open');
  }

  #refusal(): { readonly ok: false; readonly error: BridgeError } | null {
    const sentence = this.#world.unavailable;
    return sentence === undefined ? null : err({ kind: 'refused', sentence, remedy: 'Act at the stand.' });
  }

  #renew(): void {
    this.#lastRenewed_us = this.#world.now_us();
    this.#world.write(hostLeaseLine(this.#host, LEASE_MS));
  }

  #keepStarter(now_us: number): void {
    if (this.#lastStarter_us === -Infinity) return;
    const isHeld = this.#live && this.#heldUntil_us >= now_us && this.#world.starter().left_s > 0;
    if (!isHeld) {
      this.#lastStarter_us = -Infinity;
      this.#heldUntil_us = -Infinity;
      this.#send(this.#starterBy, { name: 'STARTER', on: false }, false);
      return;
    }
    if (now_us - this.#lastStarter_us >= STARTER_REPEAT_MS * 1000) {
      this.#lastStarter_us = now_us;
      this.#send(this.#starterBy, { name: 'STARTER', on: true }, false);
    }
  }

  #repeatUnanswered(now_us: number): void {
    for (const [id, pending] of this.#pending) {
      if (now_us - pending.sentAt_us < ANSWER_WITHIN_MS * 1000) continue;
      if (pending.tries >= TRIES) {
        this.#pending.delete(id);
        this.#world.journal.unanswered(id);
        this.#records = this.#records.map((each) =>
          each.id === id
            ? { ...each, outcome: 'unanswered', reason: `the bench did not answer ${TRIES} times; act at the stand` }
            : each,
        );
        continue;
      }
      pending.tries += 1;
      pending.sentAt_us = now_us;
      // The same line again: the bench does not execute an id twice.
      this.#world.write(pending.line);
    }
  }

  #send(by: string, command: BenchCommand, isShown: boolean): string | null {
    const id = this.#nextId.toString(16).toUpperCase().padStart(4, '0');
    this.#nextId = (this.#nextId + 1) & 0xffff;
    const line = hostCommandLine(this.#host, id, command);
    if (!this.#world.write(line)) return null;
    const now_us = this.#world.now_us();
    this.#lastCommand_us = now_us;
    // A held starter command is not repeated late: the next one supersedes it.
    if (isShown) this.#pending.set(id, { line, tries: 1, sentAt_us: now_us });
    if (isShown) {
      this.#world.journal.command(id, command, by);
      const record: CommandRecord = {
        id,
        command,
        by,
        sentAt_us: this.#world.session_us(),
        outcome: 'sent',
        reason: '',
      };
      this.#records = [...this.#records, record].slice(-KEPT_RECORDS);
    }
    return id;
  }
}
