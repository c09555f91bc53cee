/** Somebody who listens to a broker and can wait for what it says. */
import { connectAsync, type IClientOptions } from 'mqtt';

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
  const heard: Spoken[] = [];
  const looks = new Set<() => void>();
  client.on('error', () => {});
  client.on('message', (topic, payload, { retain }) => {
    heard.push({ topic, text: payload.toString(), retained: retain });
    for (const look of [...looks]) look();
  });
  await client.subscribeAsync(filter, { qos: 1 });
  return {
    heard,
    said: (wanted, from = 0) =>
      new Promise((resolve) => {
        const look = (): void => {
          const spoken = heard.slice(from).find(wanted);
          if (spoken === undefined) return;
          looks.delete(look);
          resolve(spoken);
        };
        looks.add(look);
        look();
      }),
    stop: () => client.endAsync(true),
  };
}
