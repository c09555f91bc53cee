/** Why a broker cannot be used, in words that help. */

export interface BrokerTrouble {
  readonly sentence: string;
  /** The broker refused us by name; knocking often does not help. */
  readonly isRefused: boolean;
}

/** @param broker HOST:PORT as the person knows it */
export function whyNoBroker(broker: string, error: Error): BrokerTrouble {
  const code = codeOf(error);
  const sentence = sentenceFor(broker, code, error);
  return { sentence, isRefused: code === 4 || code === 5 };
}

function sentenceFor(broker: string, code: string | number | undefined, error: Error): string {
  switch (code) {
    case 'ECONNREFUSED':
      return `No broker answers at ${broker}. Start the broker, or correct its address in the configuration.`;
    case 'ENOTFOUND':
    case 'EAI_AGAIN':
      return `The machine of the broker ${broker} is not known by that name. Check the name, or whether the network is up.`;
    case 'EHOSTUNREACH':
    case 'ENETUNREACH':
    case 'ETIMEDOUT':
      return `The broker ${broker} cannot be reached. Check whether its machine is on and the network is up.`;
    case 4:
      return `The broker ${broker} refuses the user name or password. Correct username and passwordFile in the configuration.`;
    case 5:
      return `The broker ${broker} lets nobody in without the right name and password. Correct username and passwordFile in the configuration, or the rights at the broker.`;
    case 1:
      return `The broker ${broker} does not speak MQTT 3.1.1. Use one that does.`;
    case 3:
      return `The broker ${broker} says that it is not available now. It is tried again by itself.`;
    default:
      return isCertificate(code)
        ? `The broker ${broker} shows a certificate that this machine does not trust (${String(code)}). Install the certificate of its authority on this machine.`
        : `The broker ${broker} cannot be used (${error.message.slice(0, 120) || String(code)}). Check whether it is an MQTT broker.`;
  }
}

function codeOf(error: Error): string | number | undefined {
  if (/connack timeout/i.test(error.message)) return 'ETIMEDOUT';
  const first: unknown = error instanceof AggregateError ? error.errors[0] : error;
  const code = typeof first === 'object' && first !== null && 'code' in first ? first.code : undefined;
  return typeof code === 'string' || typeof code === 'number' ? code : undefined;
}

function isCertificate(code: string | number | undefined): boolean {
  return typeof code === 'string' && /CERT|SELF_SIGNED|SIGNATURE/.test(code);
}
