/**
 * Commands on their way: their numbers, the lines that are said again until
 * the bench answers, and what became of each. Which commands may go out at all
 * is `outputs.ts`'s; the held starter's rhythm is `starter-hold.ts`'s.
 *
 * A line is said again only while that is harmless (PROTOCOL.md, part 8): not
 * once something later has been asked of the same output, not once anything
 * has been switched off since, and not once the bench may have forgotten it.
 */
import type { CommandRecord } from '../../shared-core/bridge/contract.ts';
import { hostCommandLine } from '../../shared-core/line/encoder.ts';
import type { Answer, BenchCommand } from '../../shared-core/line/messages.ts';

/** PROTOCOL.md, part 8: an answer comes within 200 ms; the line's own time on top. */
export const ANSWER_WITHIN_MS = 350;
const TRIES = 3;
/** PROTOCOL.md, part 8: the bench remembers so many commands with their answers. */
const BENCH_REMEMBERS = 16;
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

export interface PostWorld {
  /** False where the line cannot go out. */
  write(bytes: Uint8Array): boolean;
  now_us(): number;
  /** Session time, for the records. */
  session_us(): number;
  readonly journal: {
    command(id: string, command: BenchCommand, by: string): void;
    unanswered(id: string): void;
  };
}

/** A command that makes things safer goes out whether outputs are live or not. */
export function isSafeCommand(command: BenchCommand): boolean {
  // Identify, tares, fuel meter and fan need no lease (PROTOCOL.md, part 8).
  return isOff(command) || !('on' in command || 'permille' in command) || command.name === 'FAN';
}

/** Switches off what could move or fire the engine. */
function isOff(command: BenchCommand): boolean {
  switch (command.name) {
    case 'THROTTLE':
      return command.permille === 0;
    case 'IGNITION':
    case 'STARTER':
    case 'SERVO':
    case 'SUPPLY':
      return !command.on;
    default:
      return false;
  }
}

interface Pending {
  readonly command: BenchCommand;
  readonly line: Uint8Array;
  tries: number;
  sentAt_us: number;
  /** Why it is not said again; null while it may be. */
  overtaken: string | null;
}

export class CommandPost {
  readonly host: string;
  readonly #world: PostWorld;
  #nextId: number;
  #lastSent_us = 0;
  readonly #pending = new Map<string, Pending>();
  #records: readonly CommandRecord[] = [];

  constructor(world: PostWorld, host: string, nextId: number) {
    this.#world = world;
    this.host = host;
    this.#nextId = nextId;
  }

  get nextId(): number {
    return this.#nextId;
  }
  get lastSent_us(): number {
    return this.#lastSent_us;
  }
  /** Newest last, at most 20. */
  get records(): readonly CommandRecord[] {
    return this.#records;
  }

  /** Sends it and says it again until it is answered; null where the line cannot go out. */
  send(by: string, command: BenchCommand): string | null {
    const sent = this.#write(command);
    if (sent === null) return null;
    const { id, line } = sent;
    for (const older of this.#pending.values()) {
      if (older.command.name === command.name) older.overtaken ??= 'a later command took its place';
      else if (isOff(command) && !isSafeCommand(older.command)) older.overtaken ??= 'switched off since';
    }
    // A starter is held by new commands: an old one said late would crank by itself.
    const overtaken = command.name === 'STARTER' && command.on ? 'the starter is held, not switched' : null;
    this.#pending.set(id, { command, line, tries: 1, sentAt_us: this.#lastSent_us, overtaken });
    this.#world.journal.command(id, command, by);
    const sentAt_us = this.#world.session_us();
    const record: CommandRecord = { id, command, by, sentAt_us, outcome: 'sent', reason: '' };
    this.#records = [...this.#records, record].slice(-KEPT_RECORDS);
    return id;
  }

  /** Sends it once, without a record of its own; null where the line cannot go out. */
  sendQuietly(command: BenchCommand): string | null {
    return this.#write(command)?.id ?? null;
  }

  /** Nothing that could energise is said again. */
  withdraw(why: string): void {
    for (const each of this.#pending.values()) if (!isSafeCommand(each.command)) each.overtaken ??= why;
  }

  /** An answer to one of ours. */
  answered(answer: Answer): void {
    this.#pending.delete(answer.id);
    this.resolve(answer.id, answer);
  }

  /** The answer counts for the record `id`. */
  resolve(id: string, answer: Answer): void {
    const reason =
      answer.kind === 'refused'
        ? [reasonWords[answer.reason] ?? answer.reason, ...answer.words].join(' ')
        : answer.fields.join(' ');
    this.#turn(id, answer.kind, reason);
  }

  idle(): void {
    const now_us = this.#world.now_us();
    for (const [id, each] of this.#pending) {
      if (now_us - each.sentAt_us < ANSWER_WITHIN_MS * 1000) continue;
      const isForgotten = ((this.#nextId - Number.parseInt(id, 16)) & 0xffff) > BENCH_REMEMBERS;
      if (each.tries >= TRIES || each.overtaken !== null || isForgotten) {
        this.#pending.delete(id);
        this.#world.journal.unanswered(id);
        const times = each.tries === 1 ? 'once' : `${each.tries} times`;
        const why = each.overtaken === null ? '' : `; not said again: ${each.overtaken}`;
        this.#turn(id, 'unanswered', `said ${times}, the bench did not answer${why}; act at the stand`);
        continue;
      }
      each.tries += 1;
      each.sentAt_us = now_us;
      // The same line again: the bench does not execute an id twice.
      this.#world.write(each.line);
    }
  }

  #write(command: BenchCommand): { readonly id: string; readonly line: Uint8Array } | null {
    const id = this.#nextId.toString(16).toUpperCase().padStart(4, '0');
    const line = hostCommandLine(this.host, id, command);
    this.#nextId = (this.#nextId + 1) & 0xffff;
    if (!this.#world.write(line)) return null;
    this.#lastSent_us = this.#world.now_us();
    return { id, line };
  }

  #turn(id: string, outcome: CommandRecord['outcome'], reason: string): void {
    this.#records = this.#records.map((each) => (each.id === id ? { ...each, outcome, reason } : each));
  }
}
