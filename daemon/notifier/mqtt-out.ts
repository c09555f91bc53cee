/** Tells a broker what the live feed tells: readings, where the plan is, alerts; and whether we are there at all. */
import type { AlertMessage, LiveMessage, SnapshotMessage } from '../wire/live-messages.ts';

/** What speaks to the broker; it mends itself, and opens a session each time that the broker lets us in. */
export interface Speaker {
  stop(): Promise<void>;
}

export interface Spoken {
  readonly topic: string;
  readonly text: string;
  readonly qos: 0 | 1;
  readonly retained: boolean;
}

export interface SpeakerSession {
  subscribe(topics: readonly string[]): Promise<unknown>;
  say(spoken: Spoken): void;
  waitingBytes(): number;
}

export interface SpeakerListener {
  open(session: SpeakerSession): void;
  heard(topic: string, payload: { toString(): string }): void;
  lost(sentence: string): void;
}

export interface MqttOutParts {
  readonly desk: {
    listen(listener: (message: LiveMessage) => void): () => void;
    snapshot(mayCommand: boolean): SnapshotMessage;
  };
  /** @param will what the broker says on our behalf once we are gone without taking leave */
  readonly speak: (listener: SpeakerListener, will: Spoken) => Speaker;
  readonly log: (sentence: string) => void;
}

export interface MqttOut {
  /** Why nothing goes out; null while it does. */
  readonly trouble: string | null;
  /** Tells of a seal, which the broker keeps: the newest of each firing and of the ledger. */
  seal(origin: string, line: string): void;
  stop(): Promise<void>;
}

export const STATUS_TOPIC = 'spyhole/status';
/** A reading that would wait behind so many bytes is old by the time it goes out: it is left out. Ours, some ten seconds of a school. */
const MAX_WAITING_BYTES = 256 * 1024;
/** Alerts and seals of the time without a broker, the newest word on each. Far more than stand at once. Ours. */
const MAX_MISSED = 200;

const status = (text: 'ready' | 'lost'): Spoken => ({ topic: STATUS_TOPIC, text, qos: 1, retained: true });

/**
 * Nothing but the status and the seals is retained: a reading that a broker kept is never one of now. A seal that stands
 * elsewhere shows a record that was cut off behind it (R7).
 */
export function mqttOut({ desk, speak, log }: MqttOutParts): MqttOut {
  let session: SpeakerSession | null = null;
  let trouble: string | null = null;
  const missed = new Map<string, Spoken>();

  function tell(message: LiveMessage): void {
    if (message.type === 'alert') {
      tellSurely(alertOf(message));
      return;
    }
    const spoken = spokenOf(message);
    if (spoken !== null && session !== null && session.waitingBytes() <= MAX_WAITING_BYTES) session.say(spoken);
  }

  /** What was said while no broker was there is said once it is. */
  function tellSurely(spoken: Spoken): void {
    if (session !== null) {
      session.say(spoken);
      return;
    }
    missed.delete(spoken.topic);
    missed.set(spoken.topic, spoken);
    const oldest = missed.keys().next();
    if (missed.size > MAX_MISSED && oldest.done === false) missed.delete(oldest.value);
  }

  const speaker = speak(
    {
      open(opened) {
        session = opened;
        trouble = null;
        opened.say(status('ready'));
        // Whether or not we may listen to it: what matters was said.
        void opened.subscribe([STATUS_TOPIC]);
        // An alert may have been on its way as the line was lost.
        const standing = desk.snapshot(false).kilns.flatMap((kiln) => kiln.alerts.map(alertOf));
        const words = new Map([...missed, ...standing.map((spoken) => [spoken.topic, spoken] as const)]);
        missed.clear();
        for (const spoken of words.values()) opened.say(spoken);
        log('What the watch says goes out over MQTT.');
      },
      // The will of a line of ours that was lost before may be carried out late (requirement C15).
      heard(topic, payload) {
        if (topic === STATUS_TOPIC && payload.toString() === 'lost') session?.say(status('ready'));
      },
      lost(sentence) {
        session = null;
        if (sentence !== trouble) log(`MQTT out: ${sentence}`);
        trouble = sentence;
      },
    },
    status('lost'),
  );
  const stopListening = desk.listen(tell);
  return {
    get trouble() {
      return trouble === null ? null : `Nothing goes out over MQTT. ${trouble}`;
    },
    seal(origin, line) {
      tellSurely({ topic: `spyhole/seal/${origin}`, text: line, qos: 1, retained: true });
    },
    async stop() {
      stopListening();
      const last = session;
      session = null;
      last?.say(status('lost'));
      await speaker.stop();
    },
  };
}

function spokenOf(message: LiveMessage): Spoken | null {
  switch (message.type) {
    case 'reading':
      return { ...plain(message), topic: `spyhole/${message.kiln}/reading/${message.sensor}` };
    case 'position':
      return { ...plain(message), topic: `spyhole/${message.kiln}/plan` };
    case 'alert':
      return alertOf(message);
    case 'snapshot':
    case 'forecast':
    case 'act':
    case 'controller':
    case 'lid':
    case 'gap':
    case 'kiln':
    case 'kiln-gone':
    case 'trouble':
    case 'heartbeat':
      return null;
  }
}

function alertOf(message: AlertMessage): Spoken {
  return { ...plain(message), topic: `spyhole/${message.kiln}/alert/${message.id}`, qos: 1 };
}

function plain(message: LiveMessage): Omit<Spoken, 'topic'> {
  return { text: JSON.stringify(message), qos: 0, retained: false };
}
