import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { readInterfaceProfiles } from '../../daemon/config/interface-profile.ts';
import { faultsOf } from '../support/config-faults.ts';

const profiles = readInterfaceProfiles();

describe('the kinds of instruments that come along', () => {
  it('are all sound, and there is one for each way to be connected', () => {
    expect(new Set(profiles.map((p) => p.kind))).toEqual(
      new Set(['serial', 'tcp', 'mqtt', 'modbus-rtu', 'modbus-tcp']),
    );
  });

  describe.each(profiles)('$key', (profile) => {
    it('says where it is known from', () => {
      expect(profile.source).toMatch(/common practice, no source|from memory/);
    });

    it('asks for what stands in its input', () => {
      const text = JSON.stringify(profile.input);
      for (const key of profile.ask) expect(text).toContain(`"${key}"`);
    });
  });

  it('are named with their fault where one is wrong', () => {
    const dir = mkdtempSync(join(tmpdir(), 'spyhole-interfaces-'));
    const file = (input: string): string =>
      `name: Any\nfor: any\nsensors: [a]\nask: []\nsource: from memory\ninput: ${input}\n`;
    const faultsIn = (text: string): string[] => {
      writeFileSync(join(dir, 'any.yaml'), text);
      return faultsOf(() => readInterfaceProfiles(dir));
    };
    try {
      expect(faultsIn(file('{kind: serial, port: x}'))).toEqual([]);
      expect(faultsIn(file('{kind: serial, port: x, baud: 1}'))[0]).toMatch(
        /^input\.baud \(line 6\): found 1; write one of 300/,
      );
      expect(faultsIn(file('{kind: serial, port: x, columns: [b]}'))).toContain(
        'input.columns[0]: "b" is no sensor of this kiln; write one of a, lid',
      );
    } finally {
      rmSync(dir, { recursive: true, force: true });
    }
  });
});
