/** CRC-16 as Modbus over Serial Line V1.02 has it in section 6.2.2: polynomial 0xA001 (reflected), begun with 0xFFFF. */

const TABLE = Uint16Array.from({ length: 256 }, (_, byte) => {
  let crc = byte;
  for (let bit = 0; bit < 8; bit++) crc = crc & 1 ? (crc >>> 1) ^ 0xa001 : crc >>> 1;
  return crc;
});

/** Of the bytes from `from` up to, but without, `to`. */
export function crc16(bytes: Uint8Array, from = 0, to = bytes.length): number {
  let crc = 0xffff;
  for (let i = from; i < to; i++) crc = (crc >>> 8) ^ (TABLE[(crc ^ (bytes[i] ?? 0)) & 0xff] ?? 0);
  return crc;
}
