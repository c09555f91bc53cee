/**
 * Signatures by Ed25519 (RFC 8032) and the names of keys. A key's fingerprint can be had without this program:
 * `openssl pkey -pubin -in public.pem -outform DER | sha256sum`, its first 32 digits.
 */
import { createPrivateKey, createPublicKey, generateKeyPairSync, type KeyObject, sign, verify } from 'node:crypto';
import { sha256 } from './hash-chain.ts';

/** Hexadecimal digits of a fingerprint: 128 bits, too many to search for a second key with the same. */
export const FINGERPRINT_DIGITS = 32;

/** Who signs. Keys stand as base64 of their SubjectPublicKeyInfo (RFC 8410), which is what a PEM file holds. */
export interface Signer {
  readonly publicKey: string;
  readonly fingerprint: string;
  /** How this key follows from earlier ones, oldest first; empty for a first key. */
  readonly handovers: readonly Handover[];
  /** @returns base64 */
  sign(text: string): string;
}

/** One key names the next: `signature` is the old one's, over `handoverText`. */
export interface Handover {
  readonly from: string;
  readonly to: string;
  readonly t: number;
  readonly signature: string;
}

export function handoverText(from: string, to: string, t: number): string {
  return `spyhole key v1\n${from}\n${to}\n${t}\n`;
}

/** A new private key, as a PEM file. */
export function newPrivatePem(): string {
  return generateKeyPairSync('ed25519').privateKey.export({ type: 'pkcs8', format: 'pem' }).toString();
}

/** @returns null for a text that is no Ed25519 private key */
export function signerFromPem(pem: string, handovers: readonly Handover[]): Signer | null {
  const key = readKey(() => createPrivateKey(pem));
  if (key === null) return null;
  const publicKey = createPublicKey(key).export({ type: 'spki', format: 'der' }).toString('base64');
  return {
    publicKey,
    fingerprint: fingerprintOf(publicKey),
    handovers,
    sign: (text) => sign(null, Buffer.from(text), key).toString('base64'),
  };
}

export function fingerprintOf(publicKey: string): string {
  return sha256(Buffer.from(publicKey, 'base64')).slice(0, FINGERPRINT_DIGITS);
}

/** The public key as a PEM file, which other programs read. @throws Error for a text that is no key */
export function publicPem(publicKey: string): string {
  return keyOf(publicKey).export({ type: 'spki', format: 'pem' }).toString();
}

/** A signature checker that reads each key only once. */
export function signatureChecker(): (publicKey: string, text: string, signature: string) => boolean {
  const known = new Map<string, KeyObject | null>();
  return (publicKey, text, signature) => {
    const key = known.has(publicKey) ? (known.get(publicKey) ?? null) : readKey(() => keyOf(publicKey));
    known.set(publicKey, key);
    // Base64 with stray characters is read all the same by Node; only the one spelling counts here.
    const bytes = Buffer.from(signature, 'base64');
    if (key === null || bytes.toString('base64') !== signature) return false;
    return verify(null, Buffer.from(text), key, bytes);
  };
}

function keyOf(publicKey: string): KeyObject {
  return createPublicKey({ key: Buffer.from(publicKey, 'base64'), type: 'spki', format: 'der' });
}

function readKey(read: () => KeyObject): KeyObject | null {
  try {
    const key = read();
    return key.asymmetricKeyType === 'ed25519' ? key : null;
  } catch {
    // No key at all: the caller says what that means where it stands.
    return null;
  }
}
