import { describe, expect, it } from 'vitest';
import { isLoopback, parseHostPort } from '../../daemon/config/host-port.ts';

describe('HOST:PORT', () => {
  it.each([
    ['127.0.0.1:4660', '127.0.0.1', 4660],
    ['[::1]:80', '::1', 80],
    ['kiln-room.local:0', 'kiln-room.local', 0],
  ])('%s is understood', (text, host, port) => {
    expect(parseHostPort(text)).toEqual({ host, port });
  });

  it.each([
    '4660',
    ':4660',
    'host',
    '::1:80',
    '[kiln]:80',
    '127.0.0.1:65536',
    '999.0.0.1:80',
    'a b:80',
    'http://a:80',
    '-a:80',
  ])('%s is not', (text) => {
    expect(parseHostPort(text)).toBeUndefined();
  });

  it('is this machine only at loopback addresses', () => {
    expect(['localhost', '127.0.0.1', '127.9.9.9', '::1'].every(isLoopback)).toBe(true);
    expect(['0.0.0.0', '::', '192.168.1.2', '127.0.0.1.example', ''].some(isLoopback)).toBe(false);
  });
});
