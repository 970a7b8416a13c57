/**
 * Thrown by the decoders of this folder for bytes that no encoder wrote. A
 * container that checks its CRC first meets it only when the CRC was fooled
 * or the writer was wrong.
 */
export class DamagedBlockError extends Error {
  override readonly name = 'DamagedBlockError';
}
