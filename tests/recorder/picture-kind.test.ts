import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { pictureMedia } from '../../daemon/recorder/picture-kind.ts';

const picture = (name: string): Buffer => readFileSync(new URL(`../data/pictures/${name}`, import.meta.url));

describe('what is taken for a photograph', () => {
  it('is a JPEG or a PNG, told from its bytes', () => {
    expect(pictureMedia(picture('crack.jpg'))).toBe('image/jpeg');
    expect(pictureMedia(picture('crack.png'))).toBe('image/png');
  });

  it('is none that was cut off before its size is known, or before its end', () => {
    const jpeg = picture('crack.jpg');
    for (const length of [0, 1, 3, 20, 100, jpeg.length - 2]) {
      expect(pictureMedia(jpeg.subarray(0, length)), `${length} bytes`).toBeNull();
    }
    const png = picture('crack.png');
    for (const length of [0, 8, 15, png.length - 1]) expect(pictureMedia(png.subarray(0, length))).toBeNull();
  });

  it('is no page, no script, and nothing that only begins like a picture', () => {
    const begins = picture('crack.jpg').subarray(0, 4);
    for (const other of [
      Buffer.from('<svg xmlns="http://www.w3.org/2000/svg"/>'),
      Buffer.from('GIF89a\x01\x00\x01\x00'),
      Buffer.from('RIFF\x1a\x00\x00\x00WEBPVP8L'),
      Buffer.from('\x00\x00\x00\x18ftypheic'),
      Buffer.concat([begins, Buffer.from('<script>alert(1)</script>'), Buffer.from([0xff, 0xd9])]),
      Buffer.concat([begins, Buffer.alloc(64, 0xff), Buffer.from([0xff, 0xd9])]),
    ]) {
      expect(pictureMedia(other)).toBeNull();
    }
  });
});
