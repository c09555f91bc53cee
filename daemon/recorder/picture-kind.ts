/** What kind of picture some bytes are, told from the bytes alone: a file's name and what a sender says prove nothing. */
import type { Photo } from '../core/inputs.ts';

const PNG_BEGIN = Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a, 0, 0, 0, 13, 0x49, 0x48, 0x44, 0x52]);
const PNG_END = Buffer.from([0, 0, 0, 0, 0x49, 0x45, 0x4e, 0x44, 0xae, 0x42, 0x60, 0x82]);

/**
 * null for anything that is no whole JPEG (ITU-T T.81, annex B: markers up to a frame header) or PNG (W3C PNG, section 5:
 * its first and last chunk). The picture itself is not decoded.
 */
export function pictureMedia(bytes: Buffer): Photo['media'] | null {
  if (bytes.subarray(0, PNG_BEGIN.length).equals(PNG_BEGIN)) return bytes.includes(PNG_END) ? 'image/png' : null;
  return isJpeg(bytes) ? 'image/jpeg' : null;
}

function isJpeg(bytes: Buffer): boolean {
  if (bytes.length < 4 || bytes.readUInt16BE(0) !== 0xffd8 || !bytes.includes(Buffer.from([0xff, 0xd9]))) return false;
  for (let at = 2; at + 10 <= bytes.length; ) {
    if (bytes[at] !== 0xff) return false;
    const marker = bytes[at + 1] ?? 0;
    // Any number of 0xff may fill the place before a marker.
    if (marker === 0xff) {
      at += 1;
      continue;
    }
    if (isFrameHeader(marker)) return isFrame(bytes, at);
    const length = bytes.readUInt16BE(at + 2);
    if (length < 2 || marker === 0xda) return false;
    at += 2 + length;
  }
  return false;
}

/** SOF0 to SOF15; DHT, JPG and DAC stand between them. */
function isFrameHeader(marker: number): boolean {
  return marker >= 0xc0 && marker <= 0xcf && marker !== 0xc4 && marker !== 0xc8 && marker !== 0xcc;
}

/** A frame of some size in grey, colour or the four inks. */
function isFrame(bytes: Buffer, at: number): boolean {
  return bytes.readUInt16BE(at + 5) > 0 && bytes.readUInt16BE(at + 7) > 0 && [1, 3, 4].includes(bytes[at + 9] ?? 0);
}
