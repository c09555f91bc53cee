/** CRC-16 of Modbus over Serial Line V1.02, section 6.2.2: polynomial 0xA001 (reflected), start 0xFFFF. */
export function crc16(bytes: Uint8Array): number {
  let crc = 0xffff;
  for (const byte of bytes) {
    crc ^= byte;
    for (let bit = 0; bit < 8; bit++) crc = (crc & 1) === 1 ? (crc >>> 1) ^ 0xa001 : crc >>> 1;
  }
  return crc;
}

/** The check as it follows its frame: low byte first. */
export function crcBytes(bytes: Uint8Array): readonly [number, number] {
  const crc = crc16(bytes);
  return [crc & 0xff, crc >>> 8];
}
