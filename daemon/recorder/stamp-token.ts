/**
 * The question to a time authority and its answer (RFC 3161): that it saw the hash of a seal, and when by its own clock.
 * `openssl ts -verify -data SEAL -in ANSWER -CAfile AUTHORITY` checks the same, and whether the authority is the one that
 * somebody trusts, which is not looked at here.
 */
import { createHash } from 'node:crypto';

/** SHA-256, from NIST's register of algorithms. */
const SHA256 = '2.16.840.1.101.3.4.2.1';
/** Names in a certificate (X.520): common name, organisation. */
const NAMES = ['2.5.4.3', '2.5.4.10'];

export interface Stamp {
  readonly atMs: number;
  /** As its certificate names it: "Time, Some Authority". */
  readonly authority: string;
}

/** @param nonce some 8 random bytes, so that an older answer is not taken for this one */
export async function stampQuestion(text: string, nonce: Buffer): Promise<Buffer> {
  const { pki, asn1 } = await library();
  const question = new pki.TimeStampReq({
    version: 1,
    messageImprint: new pki.MessageImprint({
      hashAlgorithm: new pki.AlgorithmIdentifier({ algorithmId: SHA256 }),
      hashedMessage: new asn1.OctetString({ valueHex: createHash('sha256').update(text).digest() }),
    }),
    nonce: new asn1.Integer({ valueHex: positive(nonce) }),
    certReq: true,
  });
  return Buffer.from(question.toSchema().toBER());
}

/**
 * What an answer says; a sentence where it is none, refuses, or is not over this text.
 *
 * @param nonce the question's; left out for an answer that was kept
 */
export async function readStamp(answer: Buffer, text: string, nonce?: Buffer): Promise<Stamp | string> {
  const { pki } = await library();
  try {
    const { status, timeStampToken } = pki.TimeStampResp.fromBER(answer);
    const isGranted = status.status === pki.PKIStatus.granted || status.status === pki.PKIStatus.grantedWithMods;
    if (!isGranted || timeStampToken === undefined) {
      const why = (status.statusStrings ?? []).map((one) => one.valueBlock.value).join(', ');
      return `it refuses${why === '' ? '' : `: ${why.slice(0, 200)}`}`;
    }
    const signed = new pki.SignedData({ schema: timeStampToken.content });
    const content = signed.encapContentInfo.eContent;
    if (content === undefined) return 'its answer holds no time';
    const said = pki.TSTInfo.fromBER(content.getValue());
    if (nonce !== undefined && said.nonce?.toBigInt() !== BigInt(`0x${positive(nonce).toString('hex')}`)) {
      return 'its answer is to another question';
    }
    // Its own certificate says who signed; the hash of the text and the signature over it are looked at.
    const data = new Uint8Array(Buffer.from(text)).buffer;
    const { signatureVerified, signerCertificate } = await signed.verify({ signer: 0, data, extendedMode: true });
    if (signatureVerified !== true || !signerCertificate) return 'its signature does not fit';
    const names = NAMES.flatMap((type) => signerCertificate.subject.typesAndValues.filter((one) => one.type === type));
    const authority = names.map(({ value }) => String(value.valueBlock.value)).join(', ');
    return { atMs: said.genTime.getTime(), authority: authority.replace(/\p{Control}+/gu, ' ').slice(0, 120) };
  } catch {
    // The library throws for whatever is not as the standard has it, and for a signature over another text.
    return 'its answer is no time stamp of this seal';
  }
}

/** A whole number of its own length: not negative, and no zero before it. */
function positive(nonce: Buffer): Buffer {
  const bytes = Buffer.from(nonce);
  bytes[0] = ((bytes[0] ?? 0) & 0x7f) | 0x40;
  return bytes;
}

/** Loaded when first needed: most workshops ask no authority. */
async function library() {
  const [pki, asn1] = await Promise.all([import('pkijs'), import('asn1js')]);
  return { pki, asn1 };
}
