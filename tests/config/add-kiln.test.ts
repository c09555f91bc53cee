import {
  chmodSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { addKilnToFile } from '../../daemon/config/add-kiln.ts';
import { writeSecret } from '../../daemon/config/config-text.ts';
import { loadConfig } from '../../daemon/config/load.ts';

const entry = (id: string, port = `/dev/${id}`): object => ({
  id,
  name: id,
  heat: 'gas',
  closure: 'door',
  sensors: [{ name: 'shelf', letter: 'K' }],
  input: { kind: 'serial', port },
});

describe('a kiln that is written into the configuration', () => {
  let dir: string;
  let file: string;
  beforeEach(() => {
    dir = mkdtempSync(join(tmpdir(), 'spyhole-add-'));
    file = join(dir, 'spyhole.yaml');
  });
  afterEach(() => rmSync(dir, { recursive: true, force: true }));
  const ids = (): string[] => loadConfig(file, {}).kilns.map(({ kiln }) => kiln.id);

  it('makes the file where there is none, for its owner alone', () => {
    file = join(dir, 'new', 'folder', 'spyhole.yaml');
    addKilnToFile(file, entry('one'), {});
    addKilnToFile(file, entry('two'), {});
    expect(ids()).toEqual(['one', 'two']);
    expect(statSync(file).mode & 0o777).toBe(0o600);
    expect(readFileSync(file, 'utf8')).toMatch(/^# The kilns of this workshop/);
  });

  it('leaves every line of what stands there as it was, comments too', () => {
    const before = readFileSync(new URL('../../profiles/examples/two-kilns.yaml', import.meta.url), 'utf8');
    writeFileSync(file, before);
    chmodSync(file, 0o644);
    const written = addKilnToFile(file, entry('third'), {});
    const after = readFileSync(file, 'utf8');
    expect(ids()).toEqual(['gas', 'electric', 'third']);
    expect(after.startsWith(before)).toBe(true);
    expect(after).toContain('third');
    expect(written).toMatch(/^- id: third\n/);
    expect(statSync(file).mode & 0o777).toBe(0o644);
  });

  it('stands behind the last kiln, whatever follows the kilns and however they are written', () => {
    const one = JSON.stringify(entry('one'));
    for (const before of [
      `kilns:\n- ${one} # the old one\n\n# The page.\nlisten: 127.0.0.1:1\n`,
      `kilns:\n    - ${one}\nlisten: 127.0.0.1:1`,
      `# all\nkilns: [${one}] # in one line\nlisten: 127.0.0.1:1\n`,
      `{"kilns": [${one}], "listen": "127.0.0.1:1"}`,
      `kilns:\n  -\n    ${one}\nlisten: 127.0.0.1:1\n`,
    ]) {
      writeFileSync(file, before);
      addKilnToFile(file, entry('two'), {});
      expect(ids()).toEqual(['one', 'two']);
      expect(loadConfig(file, {}).listen).toEqual({ host: '127.0.0.1', port: 1 });
      for (const comment of before.match(/# .*/g) ?? []) expect(readFileSync(file, 'utf8')).toContain(comment);
    }
  });

  it('is refused, and the file left as it was, where the whole would be at fault', () => {
    addKilnToFile(file, entry('one'), {});
    const before = readFileSync(file, 'utf8');
    expect(() => addKilnToFile(file, entry('one', '/dev/other'), {})).toThrow('"one" is used twice');
    expect(() => addKilnToFile(file, entry('two', '/dev/one'), {})).toThrow('the port /dev/one is used twice');
    expect(() => addKilnToFile(file, { id: 'two' }, {})).toThrow(/^.*spyhole\.yaml: kilns\[1\]/);
    expect(readFileSync(file, 'utf8')).toBe(before);
    expect(readdirSync(dir)).toEqual(['spyhole.yaml']);
  });

  it('is refused where the file is at fault already, or no file', () => {
    writeFileSync(file, 'kilns: [');
    expect(() => addKilnToFile(file, entry('one'), {})).toThrow('is at fault already');
    expect(readFileSync(file, 'utf8')).toBe('kilns: [');
    mkdirSync(join(dir, 'folder'));
    expect(() => addKilnToFile(join(dir, 'folder'), entry('one'), {})).toThrow('cannot be written (EISDIR)');
  });

  it('has its secret in a file of its own, for its owner alone', () => {
    const secret = join(dir, 'kiln.password');
    writeFileSync(secret, 'old');
    chmodSync(secret, 0o644);
    writeSecret(secret, 'new');
    expect(readFileSync(secret, 'utf8')).toBe('new\n');
    expect(statSync(secret).mode & 0o777).toBe(0o600);
    expect(existsSync(file)).toBe(false);
  });
});
