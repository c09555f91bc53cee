/** A press that was sent, until the daemon has answered; what it refused is kept to be read beside the button. */
import { useState } from 'preact/hooks';
import type { Answer } from './api.ts';

export function usePress() {
  const [refusal, setRefusal] = useState<string | null>(null);
  const [isSending, setSending] = useState(false);
  const send = async (sent: Promise<Answer<unknown>>): Promise<void> => {
    setSending(true);
    const answer = await sent;
    setSending(false);
    setRefusal(answer.ok ? null : answer.sentence);
  };
  return { isSending, refusal, press: (sent: Promise<Answer<unknown>>) => void send(sent) };
}
