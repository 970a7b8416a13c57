/**
 * What a host says, checked at the page's edge: the envelope and all that the
 * page indexes by, not every field. The host is our own program; this catches
 * a page and a host of different versions, or a damaged message, before a
 * chart does. Without zod, so that the page need not carry it.
 */
import { err, ok, type Result } from '../base/result.ts';
import type { HostMessage } from './contract.ts';

type Fields = Readonly<Record<string, unknown>>;

/** The message, or one sentence saying what is wrong with it. */
export function parseHostMessage(value: unknown): Result<HostMessage, string> {
  if (!isFields(value)) return err('a host message is an object');
  const wrong = faultOf(value);
  return wrong === null ? ok(value as unknown as HostMessage) : err(wrong);
}

function faultOf(message: Fields): string | null {
  switch (message.type) {
    case 'hello':
      return isCount(message.contract) && typeof message.notice === 'string' ? null : 'hello: not as agreed';
    case 'layout':
      return isFields(message.layout) && isStreamed(message.layout) && Array.isArray(message.layout.channels)
        ? null
        : 'layout: not as agreed';
    case 'snapshot':
      return isFields(message.snapshot) && isStreamed(message.snapshot) && Array.isArray(message.snapshot.alarms)
        ? null
        : 'snapshot: not as agreed';
    case 'display':
      return isFields(message.batch) && isStreamed(message.batch)
        ? batchFault(message.batch)
        : 'display: not as agreed';
    case 'reply':
      return isCount(message.id) && isFields(message.result) && typeof message.result.ok === 'boolean'
        ? null
        : 'reply: not as agreed';
    default:
      return 'unknown kind of host message';
  }
}

function batchFault(batch: Fields): string | null {
  const { min, max, last, updated_us, quality } = batch;
  if (!(quality instanceof Uint8Array)) return 'display: quality is not a Uint8Array';
  for (const array of [min, max, last, updated_us]) {
    if (!(array instanceof Float64Array)) return 'display: values are not a Float64Array';
    if (array.length !== quality.length) return 'display: the arrays differ in length';
  }
  return null;
}

function isStreamed(value: Fields): boolean {
  return (value.stream === 'live' || value.stream === 'replay') && isCount(value.layoutVersion);
}

function isCount(value: unknown): boolean {
  return typeof value === 'number' && Number.isSafeInteger(value) && value >= 0;
}

function isFields(value: unknown): value is Fields {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}
