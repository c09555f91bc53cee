/** A Modbus slave with the kiln in its registers and a fault to each unit number. Pure but for what each unit remembers. */
import { type Delivery, unitBehaviours } from './communication-faults.ts';
import { exceptionPdu, type Pdu, type Request, tcpFrame, valuesPdu } from './frames.ts';
import type { Registers } from './registers.ts';

export interface Slave {
  /** What goes out, and when; empty where a real one would be silent. */
  answer(request: Request): readonly Delivery[];
  /** Requests heard so far, for whichever unit. */
  requestCount(): number;
}

const READ_HOLDING = 3;
const READ_INPUT = 4;
const MAX_READ = 125;
/** Illegal function, illegal data address, illegal data value, server device failure, gateway target failed to respond. */
const EXCEPTION = { function: 1, address: 2, value: 3, broken: 4, nobodyThere: 11 } as const;

/** @param registersNow the kiln's registers at this instant: asking lets the kiln run on; null where it has broken down */
export function modbusSlave(registersNow: () => Registers | null): Slave {
  const memories = new Map<number, { count: number; registers: Registers | null }>();
  let requestCount = 0;
  return {
    requestCount: () => requestCount,
    answer(request) {
      requestCount += 1;
      const unit = addressed(request);
      const behaviour = unitBehaviours.find((b) => b.unit === unit);
      if (behaviour === undefined) return nobody(request);
      const registers = registersNow();
      const memory = memories.get(unit) ?? { count: 0, registers };
      memories.set(unit, { count: memory.count + 1, registers });
      return behaviour.deliver({
        request,
        beforeCount: memory.count,
        answer: answerTo(request.pdu, registers),
        staleAnswer: answerTo(request.pdu, memory.registers),
      });
    },
  };
}

/** On TCP 0 and 255 are the device itself (Messaging on TCP/IP V1.0b, 4.4.2); on a line 0 is for all, and none answers. */
function addressed({ unit, transaction }: Request): number {
  return transaction !== undefined && (unit === 0 || unit === 0xff) ? 1 : unit;
}

/** On a line nobody answers; on TCP the gateway says that nobody does. */
function nobody({ unit, pdu, transaction }: Request): readonly Delivery[] {
  if (transaction === undefined) return [];
  const bytes = tcpFrame(transaction, unit, exceptionPdu(pdu[0] ?? 0, EXCEPTION.nobodyThere));
  return [{ kind: 'bytes', afterRealMs: 0, bytes }];
}

/** A healthy answer: function, then count, then addresses are looked at, in the standard's order (V1.1b3, 6.3). */
export function answerTo(pdu: Pdu, registers: Registers | null): Pdu {
  const [code = 0, addressHigh = 0, addressLow = 0, countHigh = 0, countLow = 0] = pdu;
  if (code !== READ_HOLDING && code !== READ_INPUT) return exceptionPdu(code, EXCEPTION.function);
  const from = addressHigh * 256 + addressLow;
  const count = countHigh * 256 + countLow;
  if (pdu.length !== 5 || count < 1 || count > MAX_READ) return exceptionPdu(code, EXCEPTION.value);
  if (registers === null) return exceptionPdu(code, EXCEPTION.broken);
  const words: number[] = [];
  for (let i = 0; i < count; i++) {
    const word = registers.get(from + i);
    if (word === undefined) return exceptionPdu(code, EXCEPTION.address);
    words.push(word);
  }
  return valuesPdu(code, words);
}
