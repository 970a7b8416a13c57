/**
 * Finds blocks in a database file whose tree is broken: every page that looks
 * like a leaf of a table is searched for rows of the form of table `block` or
 * `fresh`, and a row counts only when the checksum in its body holds, which
 * covers its head too. So nothing is taken for a block that is none. Pages on
 * the free list are passed over: they may hold blocks of deleted sessions.
 *
 * Pages, cells, records and overflow chains: sqlite.org/fileformat2.html,
 * parts 1.5, 1.6, 2 and 2.1.
 */
import { closeSync, fstatSync, openSync, readSync } from 'node:fs';
import { type Block, openBlock } from './block-file.ts';

export interface FoundBlock {
  /** Number of its session in the file. */
  readonly session: number;
  readonly block: Block;
}

const TABLE_LEAF = 0x0d;
const HEADER_BYTES = 100;

/** @throws the errors of the file system */
export function* blocksInPages(path: string): Generator<FoundBlock> {
  const file = openSync(path, 'r');
  try {
    const header = Buffer.alloc(HEADER_BYTES);
    readSync(file, header, 0, HEADER_BYTES, 0);
    const said = header.readUInt16BE(16) === 1 ? 65_536 : header.readUInt16BE(16);
    // A header that is gone too: the size that all our files have.
    const pageBytes = said >= 512 && (said & (said - 1)) === 0 ? said : 4096;
    const pages = new Pages(file, pageBytes, Math.floor(fstatSync(file).size / pageBytes));
    const free = freePages(pages, header.readUInt32BE(32));
    for (let number = 1; number <= pages.count; number++) {
      if (!free.has(number)) yield* blocksOfPage(pages, number);
    }
  } finally {
    closeSync(file);
  }
}

class Pages {
  readonly count: number;
  readonly bytes: number;
  readonly #file: number;

  constructor(file: number, bytes: number, count: number) {
    this.#file = file;
    this.bytes = bytes;
    this.count = count;
  }

  read(number: number): Buffer | null {
    if (number < 1 || number > this.count) return null;
    const page = Buffer.alloc(this.bytes);
    return readSync(this.#file, page, 0, this.bytes, (number - 1) * this.bytes) === this.bytes ? page : null;
  }
}

/** "The Freelist", fileformat2.html, part 1.5: trunks, each with the next one, a count, and the numbers of leaves. */
function freePages(pages: Pages, firstTrunk: number): Set<number> {
  const free = new Set<number>();
  for (let trunk = firstTrunk; trunk !== 0 && !free.has(trunk); ) {
    const page = pages.read(trunk);
    if (page === null) break;
    free.add(trunk);
    const leaves = Math.min(page.readUInt32BE(4), pages.bytes / 4 - 2);
    for (let i = 0; i < leaves; i++) free.add(page.readUInt32BE(8 + 4 * i));
    trunk = page.readUInt32BE(0);
  }
  return free;
}

function* blocksOfPage(pages: Pages, number: number): Generator<FoundBlock> {
  const page = pages.read(number);
  const start = number === 1 ? HEADER_BYTES : 0;
  if (page === null || page[start] !== TABLE_LEAF) return;
  const cells = page.readUInt16BE(start + 3);
  if (start + 8 + 2 * cells > page.length) return;
  for (let i = 0; i < cells; i++) {
    const at = page.readUInt16BE(start + 8 + 2 * i);
    const payload = payloadOf(pages, page, at);
    const found = payload === null ? null : blockOf(payload);
    if (found !== null) yield found;
  }
}

/** Payload of a cell, its overflow pages followed; null where it cannot be one. */
function payloadOf(pages: Pages, page: Buffer, cell: number): Buffer | null {
  const length = varint(page, cell);
  const rowid = length === null ? null : varint(page, length.next);
  if (length === null || rowid === null) return null;
  const usable = pages.bytes;
  const size = length.value;
  if (size < 20 || size > usable * pages.count) return null;
  const most = usable - 35;
  const least = Math.floor(((usable - 12) * 32) / 255) - 23;
  const over = least + ((size - least) % (usable - 4));
  const local = size <= most ? size : over <= most ? over : least;
  if (rowid.next + local > page.length) return null;
  const payload = Buffer.alloc(size);
  page.copy(payload, 0, rowid.next, rowid.next + local);
  if (local === size) return payload;
  if (rowid.next + local + 4 > page.length) return null;
  let next = page.readUInt32BE(rowid.next + local);
  for (let filled = local; filled < size; ) {
    const overflow = pages.read(next);
    if (overflow === null) return null;
    filled += overflow.copy(payload, filled, 4, Math.min(usable, 4 + size - filled));
    next = overflow.readUInt32BE(0);
  }
  return payload;
}

/** A record of table `block` (9 columns) or `fresh` (17, the first its number, which is the rowid). */
function blockOf(payload: Buffer): FoundBlock | null {
  const values = recordOf(payload);
  if (values === null) return null;
  const row = values.length === 9 ? values : values.length === 17 ? [values[1], ...values.slice(3, 11)] : null;
  const body = row?.[8];
  const numbers = row?.slice(0, 8);
  if (!(body instanceof Uint8Array) || !numbers?.every((each) => typeof each === 'number')) return null;
  const [session, firstOrd, lastOrd, first_us, last_us, frames, previous, checksum] = numbers as [
    number,
    number,
    number,
    number,
    number,
    number,
    number,
    number,
  ];
  const block = { firstOrd, lastOrd, first_us, last_us, frames, previous, checksum, body };
  try {
    openBlock(block);
  } catch {
    return null;
  }
  return { session, block };
}

type Value = number | Uint8Array | null;

/** Text counts as null: no block has any. */
function recordOf(payload: Buffer): Value[] | null {
  const head = varint(payload, 0);
  if (head === null || head.value > payload.length || head.value > 100) return null;
  const types: number[] = [];
  for (let at = head.next; at < head.value; ) {
    const type = varint(payload, at);
    if (type === null) return null;
    types.push(type.value);
    at = type.next;
  }
  const values: Value[] = [];
  let at = head.value;
  for (const type of types) {
    const bytes = type >= 12 ? Math.floor((type - 12) / 2) : ([0, 1, 2, 3, 4, 6, 8, 8, 0, 0][type] ?? -1);
    if (bytes < 0 || at + bytes > payload.length) return null;
    if (type >= 12) values.push(type % 2 === 0 ? new Uint8Array(payload.subarray(at, at + bytes)) : null);
    else if (type === 7) values.push(payload.readDoubleBE(at));
    else if (type === 8 || type === 9) values.push(type - 8);
    else if (type === 6) values.push(Number(payload.readBigInt64BE(at)));
    else values.push(type === 0 ? null : payload.readIntBE(at, bytes));
    at += bytes;
  }
  return values;
}

/** Seven bits to a byte, highest first; the ninth byte has eight. */
function varint(bytes: Buffer, from: number): { value: number; next: number } | null {
  let value = 0;
  for (let i = 0; i < 9; i++) {
    const byte = bytes[from + i];
    if (byte === undefined) return null;
    if (i === 8) return { value: value * 256 + byte, next: from + 9 };
    value = value * 128 + (byte & 0x7f);
    if (byte < 128) return { value, next: from + i + 1 };
  }
  return null;
}
