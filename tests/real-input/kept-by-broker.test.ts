/** A broker that kept an old value gives it to the watch as it starts: it is no reading of now (requirement C11). */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { connectAsync } from 'mqtt';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { loadConfig } from '../../daemon/config/load.ts';
import { startWatch } from '../../daemon/runtime/assemble.ts';
import type { LiveMessage } from '../../daemon/wire/live-messages.ts';
import { needs } from '../support/debian.ts';
import { is } from '../support/live-viewer.ts';
import { mosquitto } from '../support/mosquitto.ts';
import { linesOf, readRecord } from '../support/record-check.ts';
import { toldSoFar } from '../support/told-so-far.ts';

describe.runIf(needs('mosquitto'))('1234 °C that a broker kept from earlier', () => {
  let dir: string;
  let toStop: (() => Promise<unknown>)[];
  beforeEach(() => {
    dir = mkdtempSync(join(tmpdir(), 'spyhole-kept-'));
    toStop = [];
  });
  afterEach(async () => {
    for (const stop of toStop.reverse()) await stop();
    rmSync(dir, { recursive: true, force: true });
  });

  it.each(['3.1.1', '5'])(
    'begin no firing, and are shown and recorded as no reading of now, MQTT %s',
    async (version) => {
      const broker = await mosquitto();
      toStop.push(broker.stop);
      const board = await connectAsync(broker.url, { reconnectPeriod: 0 });
      toStop.push(() => board.endAsync(true));
      await board.publishAsync('kiln/shelf', '1234', { qos: 1, retain: true });
      const file = join(dir, 'kilns.yaml');
      writeFileSync(
        file,
        `kilns:
  - id: gas
    name: Gas kiln
    heat: gas
    closure: door
    sensors: [{name: shelf, letter: K}, {name: top, letter: K}]
    input: {kind: mqtt, url: "${broker.url}", version: ${version}, topics: {shelf: kiln/shelf, top: kiln/top}}
`,
      );
      const config = { ...loadConfig(file), listen: { host: '127.0.0.1', port: 0 } };
      const dataDir = join(dir, 'data');
      const told = toldSoFar<LiveMessage>();
      const watch = await startWatch({ config, dataDir, log: () => undefined });
      toStop.push(() => watch.stop());
      watch.desk.listen(told.add);
      const shelf = is('reading', (reading) => reading.sensor === 'shelf');
      expect(await told.first(shelf)).toMatchObject({ celsius: 1234, quality: 'late', firing: null });
      const now = () => watch.desk.snapshot(true).kilns[0];
      expect(now()).toMatchObject({ firing: null, readings: [], sentence: expect.not.stringContaining('1234') });

      // It is given again to whoever comes again, and a firing that is on does not take it either.
      const { id } = await watch.desk.begin('gas', null, 'Mira');
      const from = told.all.length;
      await board.publishAsync('kiln/shelf', '21.5', { qos: 1 });
      expect(await told.first(shelf, from)).toMatchObject({ celsius: 21.5, quality: 'good', firing: id });
      expect(now()?.readings.map(({ sensor, celsius }) => [sensor, celsius])).toEqual([['shelf', 21.5]]);
      await watch.stop();
      const { lines } = await readRecord(dataDir, id);
      expect(linesOf(lines, 'reading').map((line) => line.raw)).toEqual(['21.5']);
    },
  );
});
