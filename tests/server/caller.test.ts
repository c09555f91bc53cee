import { describe, expect, it } from 'vitest';
import { allowedHosts } from '../../daemon/server/allowed-hosts.ts';
import { isLoopback, isOwnMachine } from '../../daemon/server/caller.ts';

const allowed = allowedHosts({
  listenHost: '0.0.0.0',
  port: 4660,
  configured: ['kiln.example'],
  machineName: 'loft',
  interfaceAddresses: () => ['192.168.1.20'],
});
const host = { host: 'localhost:4660' };

describe('who may steer a firing', () => {
  it.each(['127.0.0.1', '127.9.8.7', '::1', '::ffff:127.0.0.1', '::FFFF:127.0.0.1'])(
    '%s is the own machine',
    (address) => {
      expect(isLoopback(address)).toBe(true);
      expect(isOwnMachine(address, host, allowed)).toBe(true);
    },
  );

  it.each([
    undefined,
    '',
    '192.168.1.20',
    '::ffff:192.168.1.20',
    '10.127.0.1',
    '127.evil',
    '127.0.0.1.5',
    '1127.0.0.1',
    '::2',
    'fe80::1',
    'localhost',
  ])('%s is the network', (address) => {
    expect(isLoopback(address)).toBe(false);
    expect(isOwnMachine(address, host, allowed)).toBe(false);
  });

  it('believes no header that says the asker sits at the machine', () => {
    expect(isOwnMachine('192.168.1.30', { ...host, 'x-forwarded-for': '127.0.0.1' }, allowed)).toBe(false);
  });

  it('takes an asker behind a proxy of this machine for the network', () => {
    expect(isOwnMachine('127.0.0.1', { ...host, 'x-forwarded-for': '192.168.1.30' }, allowed)).toBe(false);
    expect(isOwnMachine('127.0.0.1', { ...host, 'x-forwarded-for': '127.0.0.1' }, allowed)).toBe(false);
    expect(isOwnMachine('127.0.0.1', { ...host, forwarded: 'for=192.168.1.30' }, allowed)).toBe(false);
    expect(isOwnMachine('127.0.0.1', { ...host, via: '1.1 loft' }, allowed)).toBe(false);
    expect(isOwnMachine('127.0.0.1', { host: 'kiln.example' }, allowed)).toBe(false);
    expect(isOwnMachine('127.0.0.1', { ...host, origin: 'https://kiln.example' }, allowed)).toBe(false);
  });
});
