/** Why a broker cannot be used, in words that help. */

export interface BrokerTrouble {
  readonly sentence: string;
  /** The broker refused us by name; knocking often does not help. */
  readonly isRefused: boolean;
}

/** Refusals of MQTT 3.1.1 (table 3.1) and 5 (table 3-1): wrong name or password, no right, shut out. */
const REFUSALS: ReadonlySet<string | number | undefined> = new Set([4, 5, 134, 135, 138, 140]);

/** @param broker HOST:PORT as the person knows it */
export function whyNoBroker(broker: string, error: Error): BrokerTrouble {
  const code = codeOf(error);
  const sentence = sentenceFor(broker, code, error);
  return { sentence, isRefused: REFUSALS.has(code) };
}

/** Why a broker that had let us in closed the line, by the reason codes of MQTT 5 (table 3-13). */
export function whyDisconnected(broker: string, reasonCode: number): BrokerTrouble {
  switch (reasonCode) {
    case 135:
    case 152:
      return {
        sentence: `The broker ${broker} has shut us out. Ask whoever keeps it for the right to use it.`,
        isRefused: true,
      };
    case 139:
      return { sentence: `The broker ${broker} is being shut down. It is tried again by itself.`, isRefused: false };
    case 142:
      return {
        sentence: `Another program has taken our place at the broker ${broker}, under the same client name. Stop that program.`,
        isRefused: true,
      };
    case 147:
    case 149:
    case 150:
    case 151:
      return {
        sentence: `The broker ${broker} says that we sent it too much. Raise its limits; it is tried again by itself.`,
        isRefused: true,
      };
    default:
      return {
        sentence: `The broker ${broker} has closed the line (reason ${reasonCode}). It is tried again by itself.`,
        isRefused: false,
      };
  }
}

function sentenceFor(broker: string, code: string | number | undefined, error: Error): string {
  switch (code) {
    case 'ECONNREFUSED':
      return `No broker answers at ${broker}. Start the broker, or correct its address.`;
    case 'ENOTFOUND':
    case 'EAI_AGAIN':
      return `The machine of the broker ${broker} is not known by that name. Check the name, or whether the network is up.`;
    case 'EHOSTUNREACH':
    case 'ENETUNREACH':
    case 'ETIMEDOUT':
      return `The broker ${broker} cannot be reached. Check whether its machine is on and the network is up.`;
    case 'ECONNRESET':
      return `The broker ${broker} hung up. If it does so at every call, check its port, and whether the address should begin with mqtts:// (encrypted) or mqtt://.`;
    case 'KEEPALIVE':
      return `The broker ${broker} has gone without a word. Check whether its machine is on and the network is up; it is tried again by itself.`;
    case 4:
    case 134:
      return `The broker ${broker} refuses the user name or password. Correct them.`;
    case 5:
    case 135:
      return `The broker ${broker} lets nobody in without the right name and password. Correct them, or the rights at the broker.`;
    case 138:
      return `The broker ${broker} has shut us out. Ask whoever keeps it for the right to use it.`;
    case 1:
    case 132:
      return `The broker ${broker} does not speak the version of MQTT that is asked for. Write version: 3.1.1 or version: 5, whichever it speaks.`;
    case 3:
    case 136:
    case 137:
      return `The broker ${broker} says that it is not available now. It is tried again by itself.`;
    case 'ERR_TLS_CERT_ALTNAME_INVALID':
      return `The broker ${broker} shows a certificate for another name. Write its address as its certificate has it.`;
    case 'CERT_HAS_EXPIRED':
      return `The certificate of the broker ${broker} has expired. Give the broker a new one; or set this machine's clock, if that is wrong.`;
    case 'EPROTO':
    case 'ERR_SSL_WRONG_VERSION_NUMBER':
    case 'ERR_SSL_PACKET_LENGTH_TOO_LONG':
      return `What answers at ${broker} does not speak TLS. Write mqtt:// instead of mqtts://, or the broker's encrypted port, often 8883.`;
    default:
      return isCertificate(code)
        ? `The broker ${broker} shows a certificate that this machine does not trust (${String(code)}). Write caFile with the certificate of its authority, or install that on this machine.`
        : `The broker ${broker} cannot be used (${error.message.slice(0, 120) || String(code)}). Check whether it is an MQTT broker.`;
  }
}

function codeOf(error: Error): string | number | undefined {
  if (/connack timeout/i.test(error.message)) return 'ETIMEDOUT';
  if (/keepalive timeout/i.test(error.message)) return 'KEEPALIVE';
  const first: unknown = error instanceof AggregateError ? error.errors[0] : error;
  const code = typeof first === 'object' && first !== null && 'code' in first ? first.code : undefined;
  return typeof code === 'string' || typeof code === 'number' ? code : undefined;
}

function isCertificate(code: string | number | undefined): boolean {
  return typeof code === 'string' && /CERT|SELF_SIGNED|SIGNATURE/.test(code);
}
