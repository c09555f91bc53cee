import { describe, expect, test } from 'vitest';
import type { LiveMessage } from '../../daemon/wire/live-messages.ts';
import { type Socket, startLiveClient } from '../../web/live-client.ts';

const heartbeat = JSON.stringify({ type: 'heartbeat', atMs: 1, ages: {} });

/** A client on a clock that the test moves second by second, as the page's own timer does. */
function clientByHand() {
  let nowMs = 0;
  const opened: (Socket & { closed: boolean })[] = [];
  const heard: LiveMessage[] = [];
  const client = startLiveClient({
    nowMs: () => nowMs,
    heard: (message) => heard.push(message),
    openSocket() {
      const socket = {
        onmessage: null,
        onclose: null,
        closed: false,
        close() {
          socket.closed = true;
        },
      };
      opened.push(socket);
      return socket;
    },
  });
  return {
    client,
    opened,
    heard,
    newest: () => opened.at(-1),
    passSeconds(seconds: number) {
      for (let i = 0; i < seconds; i++) {
        nowMs += 1000;
        client.look();
      }
    },
  };
}

describe('the live line', () => {
  test('a line that falls silent is left and asked anew, though it never closed', () => {
    const { opened, newest, passSeconds } = clientByHand();
    newest()?.onmessage?.({ data: heartbeat });
    passSeconds(7);
    expect(opened).toHaveLength(1);
    passSeconds(1);
    expect(opened).toHaveLength(2);
    expect(opened[0]?.closed).toBe(true);
  });

  test('what still comes on the old line is not taken for news', () => {
    const { opened, heard, client } = clientByHand();
    const old = opened[0];
    client.askAnew();
    old?.onmessage?.({ data: heartbeat });
    expect(heard).toHaveLength(0);
    expect(client.heardMs()).toBeNull();
  });

  test('while nobody answers it tries for ever, never more than once a second, never less than each twenty', () => {
    const { opened, newest, passSeconds } = clientByHand();
    const tries: number[] = [];
    for (let second = 0; second < 300; second++) {
      const before = opened.length;
      passSeconds(1);
      newest()?.onclose?.();
      if (opened.length > before) tries.push(second);
    }
    const waits = tries.slice(1).map((second, i) => second - (tries[i] ?? 0));
    expect(Math.min(...waits)).toBeGreaterThanOrEqual(1);
    expect(Math.max(...waits)).toBeLessThanOrEqual(20);
    expect(tries.length).toBeGreaterThan(15);
  });

  test('a far end that takes the call and says nothing is left as well', () => {
    const { opened, passSeconds } = clientByHand();
    passSeconds(60);
    expect(opened.length).toBeGreaterThan(3);
    expect(opened.slice(0, -1).every((socket) => socket.closed)).toBe(true);
  });

  test('a message that is no JSON makes it ask anew instead of guess', () => {
    const { opened, newest, passSeconds, heard } = clientByHand();
    newest()?.onmessage?.({ data: '{"type":"head' });
    passSeconds(2);
    expect(heard).toHaveLength(0);
    expect(opened).toHaveLength(2);
  });

  test('only a heartbeat or a snapshot is a sign of life', () => {
    const { client, newest } = clientByHand();
    newest()?.onmessage?.({ data: JSON.stringify({ type: 'lid', kiln: 'gas', open: true, atMs: 1 }) });
    expect(client.heardMs()).toBeNull();
    newest()?.onmessage?.({ data: heartbeat });
    expect(client.heardMs()).toBe(0);
  });
});
