import { afterEach, describe, expect, it, vi } from 'vitest';
import { needs } from './debian.ts';

afterEach(() => {
  vi.unstubAllEnvs();
  vi.restoreAllMocks();
});

describe('a program of Debian that a test needs', () => {
  it('fails the test file where the checks run by themselves, and says how to get it', () => {
    vi.stubEnv('PATH', '');
    vi.stubEnv('CI', 'true');
    expect(() => needs('socat', 'mosquitto_pub')).toThrow(
      'socat, mosquitto_pub is missing: run "apt-get install socat mosquitto-clients"',
    );
  });

  it("skips the tests on a person's machine, with the reason", () => {
    vi.stubEnv('PATH', '');
    vi.stubEnv('CI', '');
    const said = vi.spyOn(console, 'warn').mockImplementation(() => {});
    expect(needs('openssl')).toBe(false);
    expect(said).toHaveBeenCalledWith('Skipped: openssl is missing: run "apt-get install openssl".');
  });
});
