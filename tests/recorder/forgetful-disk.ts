/**
 * A disk in memory that keeps apart what the system shows and what has reached the medium, so that the power can be
 * cut at any moment: what was not synced, names in folders included, is then gone (or, at will, all of it stays).
 */
import { dirname } from 'node:path';
import type { Disk } from '../../daemon/recorder/disk.ts';
import type { ForgetfulFile } from './failing-disk.ts';

interface FileNode {
  readonly kind: 'file';
  shown: Buffer;
  medium: Buffer;
  /** Parts of `shown` that the next sync will carry to the medium. */
  unsynced: [from: number, to: number][];
}

interface FolderNode {
  readonly kind: 'folder';
  shown: Map<string, Node>;
  medium: Map<string, Node>;
}

type Node = FileNode | FolderNode;

export interface ForgetfulDisk extends Disk {
  /** What a machine finds when its power comes back. */
  afterPowerCut(unsyncedBytes: 'lost' | 'kept'): ForgetfulDisk;
}

export function forgetfulDisk(root: FolderNode = newFolder()): ForgetfulDisk {
  const find = (path: string): Node | undefined =>
    parts(path).reduce<Node | undefined>(
      (node, name) => (node?.kind === 'folder' ? node.shown.get(name) : undefined),
      root,
    );
  const folder = (path: string): FolderNode => {
    const node = find(path);
    return node?.kind === 'folder' ? node : systemError('ENOENT', path);
  };
  const file = (path: string): FileNode => {
    const node = find(path);
    return node?.kind === 'file' ? node : systemError('ENOENT', path);
  };

  return {
    async create(path) {
      const { shown } = folder(dirname(path));
      if (shown.has(nameOf(path))) systemError('EEXIST', path);
      const node: FileNode = { kind: 'file', shown: Buffer.alloc(0), medium: Buffer.alloc(0), unsynced: [] };
      shown.set(nameOf(path), node);
      return openNode(node);
    },
    open: async (path) => openNode(file(path)),
    read: async (path) => Buffer.from(file(path).shown),
    readTail: async (path, length) => Buffer.from(file(path).shown.subarray(-length)),
    async list(path) {
      const node = find(path);
      return node?.kind === 'folder' ? [...node.shown.keys()] : [];
    },
    async mkdir(path) {
      let node = root;
      for (const name of parts(path)) {
        const next = node.shown.get(name) ?? newFolder();
        node.shown.set(name, next);
        if (next.kind !== 'folder') return systemError('ENOTDIR', path);
        node = next;
      }
    },
    async rename(from, to) {
      const node = find(from) ?? systemError('ENOENT', from);
      folder(dirname(to)).shown.set(nameOf(to), node);
      folder(dirname(from)).shown.delete(nameOf(from));
    },
    async remove(path) {
      const parent = find(dirname(path));
      if (parent?.kind === 'folder') parent.shown.delete(nameOf(path));
    },
    async syncFolder(path) {
      const node = folder(path);
      node.medium = new Map(node.shown);
    },
    afterPowerCut: (unsyncedBytes) => forgetfulDisk(remaining(root, unsyncedBytes)),
  };
}

function openNode(node: FileNode): ForgetfulFile {
  return {
    async write(bytes, position) {
      node.shown = laidOver(node.shown, bytes, position);
      node.unsynced.push([position, position + bytes.length]);
      return bytes.length;
    },
    async fdatasync() {
      for (const [from, to] of node.unsynced) node.medium = laidOver(node.medium, node.shown.subarray(from, to), from);
      node.medium = resized(node.medium, node.shown.length);
      node.unsynced = [];
    },
    async truncate(length) {
      node.shown = resized(node.shown, length);
    },
    async forgetUnsynced() {
      node.unsynced = [];
    },
    async close() {},
  };
}

function remaining(node: FolderNode, unsyncedBytes: 'lost' | 'kept'): FolderNode {
  const left = newFolder();
  for (const [name, child] of unsyncedBytes === 'lost' ? node.medium : node.shown) {
    left.shown.set(
      name,
      child.kind === 'folder' ? remaining(child, unsyncedBytes) : remainingFile(child, unsyncedBytes),
    );
  }
  left.medium = new Map(left.shown);
  return left;
}

function remainingFile(node: FileNode, unsyncedBytes: 'lost' | 'kept'): FileNode {
  const bytes = unsyncedBytes === 'lost' ? node.medium : node.shown;
  return { kind: 'file', shown: bytes, medium: bytes, unsynced: [] };
}

function newFolder(): FolderNode {
  return { kind: 'folder', shown: new Map(), medium: new Map() };
}

function laidOver(under: Buffer, bytes: Uint8Array, position: number): Buffer {
  const result = resized(under, Math.max(under.length, position + bytes.length));
  result.set(bytes, position);
  return result;
}

function resized(bytes: Buffer, length: number): Buffer {
  const result = Buffer.alloc(length);
  bytes.copy(result);
  return result;
}

function parts(path: string): readonly string[] {
  return path.split('/').filter((name) => name !== '');
}

function nameOf(path: string): string {
  return path.slice(path.lastIndexOf('/') + 1);
}

function systemError(code: string, path: string): never {
  throw Object.assign(new Error(`${code}: ${path}`), { code });
}
