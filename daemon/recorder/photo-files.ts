/**
 * The photographs of a firing, in the folder `photos` beside its record. Each is named by its own SHA-256, which stands
 * in the record's line as well (R17): who changes one, or lays another in its place, is found out.
 */
import { dirname } from 'node:path';
import type { Photo } from '../core/inputs.ts';
import { createFile } from './chain-file.ts';
import { type Disk, errorCode } from './disk.ts';
import { sha256 } from './hash-chain.ts';

const ENDS = { 'image/jpeg': 'jpg', 'image/png': 'png' } as const;
const nameShape = /^([0-9a-f]{64})\.(jpg|png)$/;

/** `photos/HASH.jpg`, below the firing's folder. */
export function photoPath({ sha256: hash, media }: Photo): string {
  return `photos/${hash}.${ENDS[media]}`;
}

/** The photograph of a file's name, or null for a name that the recorder would not give. */
export function photoOfName(name: string): Photo | null {
  const [, hash, end] = nameShape.exec(name) ?? [];
  if (hash === undefined) return null;
  return { sha256: hash, media: end === 'png' ? 'image/png' : 'image/jpeg' };
}

/** A photograph as a line of the record holds it; null for anything else. */
export function readPhoto(value: unknown): Photo | null {
  const { sha256: hash, media } = Object(value) as Partial<Photo>;
  if (typeof hash !== 'string' || (media !== 'image/jpeg' && media !== 'image/png')) return null;
  return photoOfName(`${hash}.${ENDS[media]}`);
}

/**
 * Resolves once the bytes are on the disk, whole and under their name; a line may name them only then.
 * Rejects with the system's own error.
 */
export async function keepPhoto(disk: Disk, folder: string, bytes: Buffer, media: Photo['media']): Promise<Photo> {
  const photo = { sha256: sha256(bytes), media };
  const path = `${folder}/${photoPath(photo)}`;
  if (Buffer.isBuffer(await photoBytes(disk, folder, photo).catch(() => null))) return photo;
  await disk.mkdir(dirname(path));
  const made = `${path}.new`;
  await disk.remove(made);
  try {
    const file = await createFile(disk, made, bytes);
    await file.close();
    await disk.rename(made, path);
    await disk.syncFolder(dirname(path));
    await disk.syncFolder(folder);
    return photo;
  } catch (error) {
    // Give the space back if the disk lets us; nothing names these bytes yet.
    await disk.remove(made).catch(() => undefined);
    throw error;
  }
}

/** The file as it was filed; null where it is missing, `changed` where other bytes stand in its place. */
export async function photoBytes(disk: Disk, folder: string, photo: Photo): Promise<Buffer | 'changed' | null> {
  try {
    const bytes = await disk.read(`${folder}/${photoPath(photo)}`);
    return sha256(bytes) === photo.sha256 ? bytes : 'changed';
  } catch (error) {
    if (errorCode(error) === 'ENOENT' || errorCode(error) === 'ENOTDIR') return null;
    throw error;
  }
}
