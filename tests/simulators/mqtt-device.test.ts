import { connectAsync } from 'mqtt';
import { describe, expect, it } from 'vitest';
import { simulatedClock } from '../../daemon/runtime/clock.ts';
import { sourceOf } from '../../simulators/device.ts';
import { fireScenario, liveFiring } from '../../simulators/firing-scenario.ts';
import { mqttDevice, runKiln } from '../../simulators/mqtt-device.ts';
import { needs } from '../support/debian.ts';
import { freePort, mosquitto } from '../support/mosquitto.ts';
import { doorOpened } from '../support/scenarios.ts';

describe.runIf(needs('mosquitto'))('a simulated kiln behind a real broker', () => {
  it('publishes at 600 times speed the very readings of its firing, each on its topic, in order', async () => {
    const broker = await mosquitto();
    const listener = await connectAsync(broker.url);
    const heard: { topic: string; text: string }[] = [];
    listener.on('message', (topic, payload) => heard.push({ topic, text: payload.toString() }));
    await listener.subscribeAsync('workshop/kiln-4/#', { qos: 1 });

    const clock = simulatedClock(600);
    const scenario = { ...doorOpened({ lidSwitch: true }), startedAtMs: clock.nowMs(), endsAfterS: 600 };
    const device = await mqttDevice({ url: broker.url, topicPrefix: 'workshop/kiln-4' });
    await runKiln(sourceOf(liveFiring(scenario)), device, clock).done;
    const { rows } = fireScenario(scenario);
    const readings = () => heard.filter((h) => h.topic === 'workshop/kiln-4/shelf');
    // The broker has them all; the listener's own delivery is waited for.
    while (readings().length < rows.length) await new Promise((resolve) => listener.once('message', resolve));

    expect(readings().map((h) => h.text)).toEqual(rows.map((r) => `${r.celsius}`));
    // The door is propped as soon as the kiln is lit.
    expect(heard.filter((h) => h.topic === 'workshop/kiln-4/lid').map((h) => h.text)).toEqual(['closed', 'open']);
    await device.stop();
    await listener.endAsync();
    await broker.stop();
  });

  it('says nothing as an empty payload where the instrument gives no temperature', async () => {
    const broker = await mosquitto();
    const listener = await connectAsync(broker.url);
    await listener.subscribeAsync('k/#', { qos: 1 });
    const message = new Promise<string>((resolve) =>
      listener.once('message', (_, payload) => resolve(payload.toString())),
    );
    const device = await mqttDevice({ url: broker.url, topicPrefix: 'k' });
    await device.reading({ atMs: 0, sensor: 'top', celsius: null });
    expect(await message).toBe('');
    await device.stop();
    await listener.endAsync();
    await broker.stop();
  });

  it('fails at the start where there is no broker', async () => {
    const url = `mqtt://127.0.0.1:${await freePort()}`;
    await expect(mqttDevice({ url, topicPrefix: 'k' })).rejects.toThrow('ECONNREFUSED');
  });
});
