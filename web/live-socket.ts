import type { Socket } from './live-client.ts';

/** The live feed of the server that this page came from. */
export function openSocket(): Socket {
  const scheme = location.protocol === 'https:' ? 'wss:' : 'ws:';
  const socket = new WebSocket(`${scheme}//${location.host}/live`);
  const ear: Socket = { onmessage: null, onclose: null, close: () => socket.close() };
  socket.onmessage = (event) => ear.onmessage?.(event);
  socket.onclose = () => ear.onclose?.();
  return ear;
}
