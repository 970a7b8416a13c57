/**
 * Collects the channel table from its rows, in whatever order they come
 * (PROTOCOL.md, part 5). Rows that come before the first identity are kept: a
 * host that joins late has the table as soon as it has all of it.
 */
import { CHANNELS_MAX, type TableRow } from './checked-line.ts';
import type { BenchTable, ChannelRow, GroupRow, Identity, InputRow } from './messages.ts';

/** Input rows kept before an identity says how many there are. */
const INPUTS_BEFORE_IDENTITY_MAX = 1024;

export class TableCollector {
  #table: BenchTable | null = null;
  #identity: Identity | null = null;
  #layout = '';
  readonly #groups = new Map<number, GroupRow>();
  readonly #channels = new Map<number, ChannelRow>();
  readonly #inputs = new Map<number, InputRow>();

  get table(): BenchTable | null {
    return this.#table;
  }

  /** Forgets the table, its rows and the identity. */
  forget(): void {
    this.#table = null;
    this.#identity = null;
    this.#forgetRows('');
  }

  /** Takes an identity; true if the table has become complete by it. */
  takeIdentity(identity: Identity): boolean {
    const known = this.#identity;
    const isSame =
      known === null
        ? identity.layout === this.#layout
        : identity.boot === known.boot &&
          identity.layout === known.layout &&
          identity.groups === known.groups &&
          identity.channels === known.channels &&
          identity.inputs === known.inputs;
    if (!isSame) {
      this.#table = null;
      this.#forgetRows(identity.layout);
    }
    this.#identity = identity;
    return this.#becameComplete();
  }

  /** False if the row breaks a rule of the table: a number past those announced, or a key that is taken. */
  admits(line: TableRow): boolean {
    if (line.kind === 'G' || line.layout !== this.#layout) return true;
    const identity = this.#identity;
    if (line.kind === 'C') {
      if (line.row.channel >= (identity?.channels ?? CHANNELS_MAX)) return false;
      for (const other of this.#channels.values()) {
        if (other.key === line.row.key && other.channel !== line.row.channel) return false;
      }
      return true;
    }
    if (line.row.input >= (identity?.inputs ?? Number.POSITIVE_INFINITY)) return false;
    for (const other of this.#inputs.values()) {
      if (other.key === line.row.key && other.input !== line.row.input) return false;
    }
    return true;
  }

  /** Takes a row that is admitted; true if the table has become complete by it. */
  takeRow(line: TableRow): boolean {
    if (this.#table !== null) return false;
    if (line.layout !== this.#layout) {
      // Rows of a layout that no identity has announced yet will come again.
      if (this.#identity !== null) return false;
      this.#forgetRows(line.layout);
    }
    if (line.kind === 'G') this.#groups.set(line.row.group, line.row);
    else if (line.kind === 'C') this.#channels.set(line.row.channel, line.row);
    else if (this.#identity !== null || line.row.input < INPUTS_BEFORE_IDENTITY_MAX) {
      this.#inputs.set(line.row.input, line.row);
    }
    return this.#becameComplete();
  }

  #forgetRows(layout: string): void {
    this.#layout = layout;
    this.#groups.clear();
    this.#channels.clear();
    this.#inputs.clear();
  }

  #becameComplete(): boolean {
    const identity = this.#identity;
    if (this.#table !== null || identity === null) return false;
    if (this.#groups.size !== identity.groups || this.#inputs.size !== identity.inputs) return false;
    if (this.#channels.size !== identity.channels || !this.#everyColumnIsNamedOnce()) return false;
    const groups = [...this.#groups.values()].sort((a, b) => a.group - b.group);
    const channels = [...this.#channels.values()].sort((a, b) => a.channel - b.channel);
    const inputs = [...this.#inputs.values()].sort((a, b) => a.input - b.input);
    // Rows kept from before the identity may have numbers past those it announces.
    if ((channels.at(-1)?.channel ?? -1) !== identity.channels - 1) return false;
    if ((inputs.at(-1)?.input ?? -1) !== identity.inputs - 1) return false;
    this.#table = { identity, groups, channels, inputs };
    return true;
  }

  #everyColumnIsNamedOnce(): boolean {
    let columns = 0;
    for (const group of this.#groups.values()) columns += group.columns;
    const places = new Set<number>();
    for (const { group, column } of this.#channels.values()) {
      if (column >= (this.#groups.get(group)?.columns ?? 0)) return false;
      places.add(group * 64 + column);
    }
    return places.size === columns && this.#channels.size === columns;
  }
}
