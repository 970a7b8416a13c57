/** What the host has to say: commands and the lease, as lines (PROTOCOL.md, parts 8 and 9). */
import { assertNever } from '../base/result.ts';
import { ByteWriter } from './byte-writer.ts';
import { hex4Of } from './fields.ts';
import type { BenchCommand } from './messages.ts';

export const LEASE_MS_MIN = 300;
export const LEASE_MS_MAX = 5000;
export const THROTTLE_PERMILLE_MAX = 1000;

/**
 * A command as a `Q` line.
 * @param host, id 4 hex digits each; `hex4Text` (hex.ts) makes them of numbers
 * @throws RangeError if an argument is out of its range
 */
export function hostCommandLine(host: string, id: string, command: BenchCommand): Uint8Array {
  const writer = new ByteWriter();
  writer.begin('Q');
  writer.text(checkedHex4('host', host));
  writer.text(checkedHex4('id', id));
  writer.text(command.name);
  switch (command.name) {
    case 'THROTTLE':
      if (!Number.isInteger(command.permille) || command.permille < 0 || command.permille > THROTTLE_PERMILLE_MAX) {
        throw new RangeError(
          `expected a throttle from 0 to ${THROTTLE_PERMILLE_MAX} per mille, got ${command.permille}`,
        );
      }
      writer.integer(command.permille);
      break;
    case 'SERVO':
    case 'IGNITION':
    case 'STARTER':
    case 'SUPPLY':
    case 'FAN':
      writer.integer(command.on ? 1 : 0);
      break;
    case 'IDENTIFY':
    case 'TARE-THRUST':
    case 'TARE-TORQUE':
    case 'RESET-FUEL':
    case 'ZERO-FUEL':
      break;
    default:
      assertNever(command);
  }
  writer.end();
  return writer.take();
}

/**
 * A lease of `ms` milliseconds as an `L` line; 0 gives it back.
 * @throws RangeError if `ms` is neither 0 nor from 300 to 5000
 */
export function hostLeaseLine(host: string, ms: number): Uint8Array {
  if (ms !== 0 && !(Number.isInteger(ms) && ms >= LEASE_MS_MIN && ms <= LEASE_MS_MAX)) {
    throw new RangeError(`expected a lease of 0 or ${LEASE_MS_MIN} to ${LEASE_MS_MAX} ms, got ${ms}`);
  }
  const writer = new ByteWriter();
  writer.begin('L');
  writer.text(checkedHex4('host', host));
  writer.integer(ms);
  writer.end();
  return writer.take();
}

function checkedHex4(name: string, text: string): string {
  if (hex4Of(text) !== undefined) return text;
  throw new RangeError(`expected ${name} as 4 hex digits, got ${text}`);
}
