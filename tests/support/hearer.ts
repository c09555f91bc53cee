/** Somebody who listens to a broker and can wait for what it says. */
import { connectAsync, type IClientOptions } from 'mqtt';
import { toldSoFar } from './told-so-far.ts';

export interface Spoken {
  readonly topic: string;
  readonly text: string;
  readonly retained: boolean;
}

export interface Hearer {
  readonly heard: readonly Spoken[];
  /** Resolves with the first thing said, from `from` on, that is `wanted`; waits for it where it has not come yet. */
  said(wanted: (spoken: Spoken) => boolean, from?: number): Promise<Spoken>;
  stop(): Promise<void>;
}

export async function hearerAt(url: string, filter: string, how: IClientOptions = {}): Promise<Hearer> {
  const client = await connectAsync(url, { reconnectPeriod: 0, ...how });
  const told = toldSoFar<Spoken>();
  client.on('error', () => {});
  client.on('message', (topic, payload, { retain }) => {
    told.add({ topic, text: payload.toString(), retained: retain });
  });
  await client.subscribeAsync(filter, { qos: 1 });
  return {
    heard: told.all,
    said: (wanted, from) => told.first((spoken): spoken is Spoken => wanted(spoken), from),
    stop: () => client.endAsync(true),
  };
}
