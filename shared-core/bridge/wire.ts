/**
 * Messages as bytes, for carriers that need bytes (WebSocket). What goes in
 * comes out: NaN, infinities and −0 survive, typed arrays keep their type and
 * stand in a binary tail. Who may say what is in `schema.ts` and
 * `host-envelope.ts`; this file knows no message.
 *
 * Layout, all numbers little-endian:
 *   0  "RSW1"
 *   4  length of the header in bytes, uint32
 *   8  header: JSON in plain ASCII (other characters as \uXXXX)
 *   …  zeros to a multiple of 8
 *   …  tail: each typed array at a multiple of 8 from the tail's start
 *
 * In the header an object with the one key "$" stands for what JSON lacks:
 *   {"$":"NaN"} {"$":"Infinity"} {"$":"-Infinity"} {"$":"-0"}
 *   {"$":["Float64Array",offset,length]}   offset from the tail's start, bytes
 *   {"$":{…}}                              an object that itself has a key "$"
 */
import { err, ok, type Result } from '../base/result.ts';

const MAGIC = [0x52, 0x53, 0x57, 0x31]; // "RSW1"
const HEADER_START = 8;
/** Deeper than any message of the contract; keeps a hostile header from exhausting the stack. */
const MAX_DEPTH = 40;

/** The arrays that may travel. Platforms we run on are little-endian, so their bytes go as they are. */
const arrayTypes = {
  Float64Array,
  Float32Array,
  Int32Array,
  Uint32Array,
  Int16Array,
  Uint16Array,
  Int8Array,
  Uint8Array,
};
type ArrayName = keyof typeof arrayTypes;
type WireArray = InstanceType<(typeof arrayTypes)[ArrayName]>;

interface Tail {
  readonly arrays: { readonly array: WireArray; readonly offset: number }[];
  length: number;
}

/**
 * The message as bytes. Fields that are undefined are left out; undefined in
 * an array becomes null, both as in JSON. Arrays are copied: the caller may
 * reuse them at once.
 * @throws TypeError for what no message may hold (functions, bigints, Map, Set, Date, cycles)
 */
export function encodeWire(message: unknown): Uint8Array<ArrayBuffer> {
  const tail: Tail = { arrays: [], length: 0 };
  const header = toAscii(headerText(message, tail, 0));
  const tailStart = aligned(HEADER_START + header.length);
  const bytes = new Uint8Array(tailStart + tail.length);
  bytes.set(MAGIC, 0);
  new DataView(bytes.buffer).setUint32(4, header.length, true);
  for (let i = 0; i < header.length; i += 1) bytes[HEADER_START + i] = header.charCodeAt(i);
  for (const { array, offset } of tail.arrays) {
    bytes.set(new Uint8Array(array.buffer, array.byteOffset, array.byteLength), tailStart + offset);
  }
  return bytes;
}

/**
 * The message in the bytes. Errors: one sentence saying what is malformed.
 * @param inPlace the typed arrays are views into `bytes`, which the caller
 *   gives up: one copy less on the way to the screen. Else nothing of `bytes`
 *   is kept. Bytes that do not begin at a multiple of 8 are copied all the same.
 */
export function decodeWire(bytes: Uint8Array, inPlace = false): Result<unknown, string> {
  if (bytes.length < HEADER_START) return err(`a message has at least ${HEADER_START} bytes, got ${bytes.length}`);
  if (MAGIC.some((byte, i) => bytes[i] !== byte)) return err('the bytes do not begin with RSW1');
  const headerLength = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength).getUint32(4, true);
  if (headerLength > bytes.length - HEADER_START) {
    return err(`the header claims ${headerLength} bytes, ${bytes.length - HEADER_START} are there`);
  }
  const headerEnd = HEADER_START + headerLength;
  let text = '';
  for (let from = HEADER_START; from < headerEnd; from += 8192) {
    text += String.fromCharCode(...bytes.subarray(from, Math.min(from + 8192, headerEnd)));
  }
  const tail: ReadTail = {
    bytes: bytes.subarray(Math.min(aligned(headerEnd), bytes.length)),
    inPlace: inPlace && bytes.byteOffset % 8 === 0,
  };
  try {
    return ok(restored(JSON.parse(text), tail, 0));
  } catch (error) {
    if (error instanceof SyntaxError || error instanceof MalformedMessage) return err(error.message);
    throw error;
  }
}

interface ReadTail {
  readonly bytes: Uint8Array;
  readonly inPlace: boolean;
}

class MalformedMessage extends Error {}

function aligned(offset: number): number {
  return Math.ceil(offset / 8) * 8;
}

function toAscii(json: string): string {
  return json.replace(/[^ -~]/g, (unit) => `\\u${unit.charCodeAt(0).toString(16).padStart(4, '0')}`);
}

function headerText(value: unknown, tail: Tail, depth: number): string {
  if (depth > MAX_DEPTH) throw new TypeError(`a message nests at most ${MAX_DEPTH} deep; is there a cycle?`);
  switch (typeof value) {
    case 'number':
      if (Number.isFinite(value) && !Object.is(value, -0)) return String(value);
      return `{"$":"${Object.is(value, -0) ? '-0' : value}"}`;
    case 'string':
      return JSON.stringify(value);
    case 'boolean':
      return String(value);
    case 'undefined':
      return 'null';
    case 'object':
      return value === null ? 'null' : objectText(value, tail, depth);
    default:
      throw new TypeError(`a message cannot hold a ${typeof value}`);
  }
}

function objectText(value: object, tail: Tail, depth: number): string {
  if (Array.isArray(value)) return `[${value.map((item) => headerText(item, tail, depth + 1)).join(',')}]`;
  const arrayName = arrayNameOf(value);
  if (arrayName !== null) {
    const array = value as WireArray;
    const offset = tail.length;
    tail.arrays.push({ array, offset });
    tail.length = aligned(offset + array.byteLength);
    return `{"$":["${arrayName}",${offset},${array.length}]}`;
  }
  if (value instanceof Map || value instanceof Set || value instanceof Date || ArrayBuffer.isView(value)) {
    throw new TypeError(`a message cannot hold a ${value.constructor.name}`);
  }
  const fields = Object.entries(value)
    .filter(([, field]) => field !== undefined)
    .map(([key, field]) => `${JSON.stringify(key)}:${headerText(field, tail, depth + 1)}`);
  const text = `{${fields.join(',')}}`;
  return Object.hasOwn(value, '$') ? `{"$":${text}}` : text;
}

function arrayNameOf(value: object): ArrayName | null {
  if (!ArrayBuffer.isView(value)) return null;
  for (const name of Object.keys(arrayTypes) as ArrayName[]) {
    if (value instanceof arrayTypes[name]) return name;
  }
  return null;
}

/** Puts back what the header's tags stand for, in place. */
function restored(value: unknown, tail: ReadTail, depth: number): unknown {
  if (typeof value !== 'object' || value === null) return value;
  if (depth > MAX_DEPTH) throw new MalformedMessage(`the header nests more than ${MAX_DEPTH} deep`);
  if (Array.isArray(value)) {
    for (let i = 0; i < value.length; i += 1) value[i] = restored(value[i], tail, depth + 1);
    return value;
  }
  const record = value as Record<string, unknown>;
  if (Object.hasOwn(record, '$')) {
    if (Object.keys(record).length !== 1) throw new MalformedMessage('a tag stands with other keys');
    return untagged(record.$, tail, depth);
  }
  return restoredFields(record, tail, depth);
}

function restoredFields(record: Record<string, unknown>, tail: ReadTail, depth: number): Record<string, unknown> {
  // A field of this name would become the prototype wherever the object is copied.
  if (Object.hasOwn(record, '__proto__')) throw new MalformedMessage('a field is named __proto__');
  for (const key of Object.keys(record)) record[key] = restored(record[key], tail, depth + 1);
  return record;
}

function untagged(tag: unknown, tail: ReadTail, depth: number): unknown {
  if (Array.isArray(tag)) return arrayAt(tag, tail);
  if (typeof tag === 'object' && tag !== null) return restoredFields(tag as Record<string, unknown>, tail, depth + 1);
  switch (tag) {
    case 'NaN':
      return NaN;
    case 'Infinity':
      return Infinity;
    case '-Infinity':
      return -Infinity;
    case '-0':
      return -0;
    default:
      throw new MalformedMessage(`unknown tag ${JSON.stringify(tag)}`);
  }
}

function arrayAt(tag: readonly unknown[], tail: ReadTail): WireArray {
  const [name, offset, length] = tag;
  if (typeof name !== 'string' || !Object.hasOwn(arrayTypes, name)) throw new MalformedMessage('unknown array type');
  const type = arrayTypes[name as ArrayName];
  if (!isCount(offset) || !isCount(length) || offset % 8 !== 0) throw new MalformedMessage('an array is misplaced');
  const byteLength = length * type.BYTES_PER_ELEMENT;
  if (offset + byteLength > tail.bytes.length) throw new MalformedMessage('an array reaches past the end');
  if (tail.inPlace) return new type(tail.bytes.buffer as ArrayBuffer, tail.bytes.byteOffset + offset, length);
  const own = new Uint8Array(byteLength);
  own.set(tail.bytes.subarray(offset, offset + byteLength));
  return new type(own.buffer);
}

function isCount(value: unknown): value is number {
  return typeof value === 'number' && Number.isSafeInteger(value) && value >= 0;
}
