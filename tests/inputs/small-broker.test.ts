import { connectAsync } from 'mqtt';
import { describe, expect, it } from 'vitest';
import { InputError } from '../../daemon/errors.ts';
import { startSmallBroker } from '../../daemon/inputs/small-broker.ts';

describe('the small broker', () => {
  it('refuses to listen to the network, since it knows no passwords', async () => {
    const refusal = startSmallBroker({ host: '0.0.0.0', port: 0 });
    await expect(refusal).rejects.toBeInstanceOf(InputError);
    await expect(refusal).rejects.toThrow('write 127.0.0.1 instead of 0.0.0.0');
  });

  it('says in a sentence that its port is taken', async () => {
    const first = await startSmallBroker({ host: '127.0.0.1', port: 0 });
    const second = startSmallBroker({ host: '127.0.0.1', port: first.port });
    await expect(second).rejects.toThrow(
      `Another program, perhaps a broker of your system, uses the port ${first.port}: stop it, or give the small broker another port.`,
    );
    await first.close();
  });

  it('closes with instruments still connected, and can be started again at once', async () => {
    const first = await startSmallBroker({ host: '127.0.0.1', port: 0 });
    const client = await connectAsync(`mqtt://127.0.0.1:${first.port}`, { reconnectPeriod: 0 });
    const gone = new Promise<void>((resolve) => client.once('close', () => resolve()));
    await first.close();
    await gone;
    const second = await startSmallBroker({ host: '127.0.0.1', port: first.port });
    await second.close();
    await client.endAsync(true);
  });
});
