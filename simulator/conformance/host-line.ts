/** Host lines as a kit needs them: any body, also such as a host would never send. */
import { crc16 } from '../../shared-core/line/crc16.ts';

/** Body, CRC and LF; `damage` is flipped into the CRC. */
export function hostLine(body: string, damage = 0, end = '\n'): Uint8Array {
  const bytes = Uint8Array.from(body, (letter) => letter.charCodeAt(0));
  const crc = (crc16(bytes, 0, bytes.length) ^ damage).toString(16).toUpperCase().padStart(4, '0');
  return Uint8Array.from(`${body}~${crc}${end}`, (letter) => letter.charCodeAt(0));
}
