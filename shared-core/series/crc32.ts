/**
 * CRC-32/ISO-HDLC, as the catalogue of parametrised CRC algorithms names it:
 * polynomial 0x04C11DB7, initial value and final XOR 0xFFFFFFFF, reflected;
 * check value for `123456789` 0xCBF43926.
 */
const table = makeTable();

/**
 * @param seed result of the bytes before, to go on from; 0 to begin
 * @returns 0 to 2³² − 1
 */
export function crc32(bytes: Uint8Array, seed = 0): number {
  let crc = ~seed;
  for (let i = 0; i < bytes.length; i++) crc = (crc >>> 8) ^ table[(crc ^ bytes[i]!) & 0xff]!;
  return ~crc >>> 0;
}

function makeTable(): Int32Array {
  const entries = new Int32Array(256);
  for (let i = 0; i < 256; i++) {
    let crc = i;
    for (let bit = 0; bit < 8; bit++) crc = crc & 1 ? (crc >>> 1) ^ 0xedb88320 : crc >>> 1;
    entries[i] = crc;
  }
  return entries;
}
