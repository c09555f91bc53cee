import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Delivery, unitBehaviours } from '../../simulators/modbus/communication-faults.ts';
import { crcBytes } from '../../simulators/modbus/crc.ts';
import { type Request, rtuFrame, tcpFrame } from '../../simulators/modbus/frames.ts';
import { type Registers, registerBank } from '../../simulators/modbus/registers.ts';
import { answerTo, modbusSlave } from '../../simulators/modbus/slave.ts';

const SEED = 20_261_125;
const registers: Registers = new Map([
  [0x6b, 0x022b],
  [0x6c, 0],
  [0x6d, 0x64],
]);
const readThree = Uint8Array.of(3, 0, 0x6b, 0, 3);
const rightAnswer = [3, 6, 0x02, 0x2b, 0, 0, 0, 0x64];

const onLine = (unit: number, pdu: Uint8Array = readThree): Request => ({ unit, pdu, frame: rtuFrame(unit, pdu) });
const onTcp = (unit: number, transaction: number, pdu: Uint8Array = readThree): Request => ({
  unit,
  pdu,
  frame: tcpFrame(transaction, unit, pdu),
  transaction,
});
const bytesOf = (deliveries: readonly Delivery[]): number[][] =>
  deliveries.map((delivery) => (delivery.kind === 'bytes' ? [...delivery.bytes] : []));
const framed = (unit: number, pdu: readonly number[]): number[] => [...rtuFrame(unit, Uint8Array.from(pdu))];

describe('a healthy answer', () => {
  it("is the standard's own example, by both functions that read", () => {
    expect([...answerTo(readThree, registers)]).toEqual(rightAnswer);
    expect([...answerTo(Uint8Array.of(4, 0, 0x6c, 0, 1), registers)]).toEqual([4, 2, 0, 0]);
  });

  it.each([
    ['1 to a function that it does not have', [6, 0, 0x6b, 0, 1], [0x86, 1]],
    ['2 to an address that it does not have', [3, 0, 0x6d, 0, 2], [0x83, 2]],
    ['3 to a count of nothing', [3, 0, 0x6b, 0, 0], [0x83, 3]],
    ['3 to more registers than a frame holds', [4, 0, 0x6b, 0, 126], [0x84, 3]],
    ['3 to a request that is too short', [3, 0, 0x6b], [0x83, 3]],
  ])('is exception %s', (_, pdu, expected) => {
    expect([...answerTo(Uint8Array.from(pdu), registers)]).toEqual(expected);
  });

  it('comes to whatever bytes are asked, and is never longer than a frame', () => {
    fc.assert(
      fc.property(fc.uint8Array({ minLength: 1, maxLength: 253 }), (pdu) => {
        const answer = answerTo(pdu, registers);
        expect(answer.length).toBeGreaterThanOrEqual(2);
        expect(answer.length).toBeLessThanOrEqual(253);
      }),
      { seed: SEED, numRuns: 1000 },
    );
  });
});

describe('the units of a slave', () => {
  it('are numbered one after the other, each with a sentence of its own', () => {
    expect(unitBehaviours.map((b) => b.unit)).toEqual(unitBehaviours.map((_, i) => i + 1));
    expect(new Set(unitBehaviours.map((b) => b.sentence)).size).toBe(14);
  });

  const slave = () => modbusSlave(() => registers);

  it('1: the healthy one answers at once, and right', () => {
    expect(slave().answer(onLine(1))).toEqual([
      { kind: 'bytes', afterRealMs: 0, bytes: rtuFrame(1, Uint8Array.from(rightAnswer)) },
    ]);
  });

  it('2: the dead one is silent', () => {
    expect(slave().answer(onLine(2))).toEqual([]);
  });

  it('3: the late one answers right, but after the usual patience of a client', () => {
    const [delivery] = slave().answer(onLine(3));
    expect(bytesOf(delivery === undefined ? [] : [delivery])).toEqual([framed(3, rightAnswer)]);
    expect(delivery?.afterRealMs).toBe(1500);
  });

  it('4: the check is wrong, on a line its sum, on TCP its transaction', () => {
    const [line = []] = bytesOf(slave().answer(onLine(4)));
    expect(line.slice(0, -2)).toEqual([4, ...rightAnswer]);
    expect(line.slice(-2)).not.toEqual(crcBytes(Uint8Array.from(line.slice(0, -2))));
    expect(bytesOf(slave().answer(onTcp(4, 0xffff)))).toEqual([[...tcpFrame(0, 4, Uint8Array.from(rightAnswer))]]);
  });

  it('5: the byte count is wrong and the check sum right: a register too many, then a count without its data', () => {
    const one = slave();
    expect(bytesOf(one.answer(onLine(5)))).toEqual([framed(5, [3, 8, ...rightAnswer.slice(2), 0, 0])]);
    expect(bytesOf(one.answer(onLine(5)))).toEqual([framed(5, [3, 8, ...rightAnswer.slice(2)])]);
    expect(bytesOf(one.answer(onLine(5)))).toEqual([framed(5, [3, 8, ...rightAnswer.slice(2), 0, 0])]);
  });

  it('6: no such register, whatever is asked', () => {
    expect(bytesOf(slave().answer(onLine(6)))).toEqual([framed(6, [0x83, 2])]);
  });

  it('7: busy every other time', () => {
    const one = slave();
    const answers = [1, 2, 3, 4].flatMap(() => bytesOf(one.answer(onLine(7))));
    const busy = framed(7, [0x83, 6]);
    const right = framed(7, rightAnswer);
    expect(answers).toEqual([busy, right, busy, right]);
  });

  it('8: another unit answers', () => {
    expect(bytesOf(slave().answer(onLine(8)))).toEqual([framed(36, rightAnswer)]);
  });

  it('9: the reply is cut off half way', () => {
    expect(bytesOf(slave().answer(onLine(9)))).toEqual([framed(9, rightAnswer).slice(0, 5)]);
  });

  it('10: noise comes first, other noise each time, the same in each run', () => {
    const [one, again] = [slave(), slave()];
    const heard = [1, 2, 3].map(() => bytesOf(one.answer(onLine(10)))[0] ?? []);
    for (const bytes of heard) {
      expect(bytes.slice(-framed(10, rightAnswer).length)).toEqual(framed(10, rightAnswer));
      expect(bytes.length).toBeGreaterThan(framed(10, rightAnswer).length);
    }
    expect(new Set(heard.map(String)).size).toBe(3);
    expect([1, 2, 3].map(() => bytesOf(again.answer(onLine(10)))[0])).toEqual(heard);
  });

  it('11: the reply comes in two pieces', () => {
    const deliveries = slave().answer(onLine(11));
    expect(bytesOf(deliveries).flat()).toEqual(framed(11, rightAnswer));
    expect(deliveries.map((d) => d.afterRealMs)).toEqual([0, 50]);
  });

  it('12: the request comes back before the reply', () => {
    expect(bytesOf(slave().answer(onLine(12)))).toEqual([[...framed(12, [...readThree]), ...framed(12, rightAnswer)]]);
  });

  it('13: the values are those of the request before', () => {
    let value = 0;
    const one = modbusSlave(() => {
      value += 1;
      return new Map([[0, value]]);
    });
    const answers = [1, 2, 3].flatMap(() => bytesOf(one.answer(onLine(13, Uint8Array.of(3, 0, 0, 0, 1)))));
    expect(answers).toEqual([1, 1, 2].map((v) => framed(13, [3, 2, 0, v])));
  });

  it('14: each tenth request is lost; on TCP the connection goes with it', () => {
    const [line, tcp] = [slave(), slave()];
    const counts = Array.from({ length: 20 }, () => line.answer(onLine(14)).length);
    expect(counts.flatMap((count, i) => (count === 0 ? [i + 1] : []))).toEqual([10, 20]);
    const kinds = Array.from({ length: 20 }, (_, i) => tcp.answer(onTcp(14, i))[0]?.kind);
    expect(kinds.flatMap((kind, i) => (kind === 'hang-up' ? [i + 1] : []))).toEqual([10, 20]);
  });

  it('that do not exist are silent on a line; on TCP the gateway says that nobody answers', () => {
    expect(slave().answer(onLine(99))).toEqual([]);
    expect(slave().answer(onLine(0))).toEqual([]);
    expect(bytesOf(slave().answer(onTcp(99, 7)))).toEqual([[...tcpFrame(7, 99, Uint8Array.of(0x83, 11))]]);
  });

  it('0 and 255 on TCP are the healthy one itself', () => {
    for (const unit of [0, 255]) {
      expect(bytesOf(slave().answer(onTcp(unit, 7)))).toEqual([[...tcpFrame(7, unit, Uint8Array.from(rightAnswer))]]);
    }
  });
});

describe('the registers', () => {
  const atMs = Date.UTC(2026, 10, 25, 12);
  const bank = (celsius: number | null): Registers => {
    const one = registerBank(['top', 'shelf'], true);
    one.hear({ readings: [{ atMs, sensor: 'shelf', celsius }], lid: [{ atMs, lid: 'open' }], acts: [] });
    return one.registers(atMs + 12_345, true, null);
  };
  const wordAt = (all: Registers, at: number): number => all.get(at) ?? -1;
  const int16 = (word: number): number => (word << 16) >> 16;
  const floatOf = (high: number, low: number): number =>
    Buffer.from([high >> 8, high & 0xff, low >> 8, low & 0xff]).readFloatBE();

  it('hold every temperature that a kiln can have in all five forms, each to its last digit', () => {
    fc.assert(
      fc.property(fc.integer({ min: -270_000, max: 1_800_000 }), (milli) => {
        const celsius = milli / 1000;
        const all = bank(celsius);
        expect(Math.abs(int16(wordAt(all, 10)) / 10 - celsius)).toBeLessThanOrEqual(0.0501);
        expect(Math.abs(int16(wordAt(all, 11)) - celsius)).toBeLessThanOrEqual(0.5001);
        expect(floatOf(wordAt(all, 12), wordAt(all, 13))).toBe(Math.fround(celsius));
        expect(floatOf(wordAt(all, 15), wordAt(all, 14))).toBe(Math.fround(celsius));
        const whole = (wordAt(all, 16) << 16) | wordAt(all, 17);
        expect(Math.abs(whole / 100 - celsius)).toBeLessThanOrEqual(0.00501);
        expect(wordAt(all, 18)).toBe(1);
      }),
      { seed: SEED, numRuns: 1000 },
    );
  });

  it('have the usual marks where the couple gives no temperature, and say so in the bits', () => {
    const all = bank(null);
    expect([10, 11, 16, 17].map((at) => wordAt(all, at))).toEqual([0x7fff, 0x7fff, 0x7fff, 0xffff]);
    expect(floatOf(wordAt(all, 12), wordAt(all, 13))).toBeNaN();
    expect(wordAt(all, 18)).toBe(2);
    // Nothing was heard of the other one yet.
    expect([wordAt(all, 8), wordAt(all, 9)]).toEqual([4, 0xffff]);
  });

  it('have the mark too where 16 bits cannot hold the temperature', () => {
    expect(wordAt(bank(3276.7), 10)).toBe(0x7fff);
    expect(wordAt(bank(3276.8), 10)).toBe(0x7fff);
    expect(wordAt(bank(3276.6), 10)).toBe(0x7ffe);
  });

  it('tell the age, the lid, and how many sensors there are; a kiln fired by hand has no setpoint', () => {
    const all = bank(600);
    expect([wordAt(all, 19), wordAt(all, 200), wordAt(all, 201)]).toEqual([12, 0b0111, 2]);
    expect([...all.keys()].filter((at) => at >= 20 && at < 200)).toEqual([]);
  });

  it('hold the controller where there is one', () => {
    const all = registerBank(['top'], false).registers(atMs, false, {
      setpointC: 660,
      outputRatio: 0.425,
      shownC: 651.5,
      segment: 3,
    });
    expect([100, 101, 106, 107, 200].map((at) => wordAt(all, at))).toEqual([6600, 425, 6515, 3, 0b1000]);
    expect(floatOf(wordAt(all, 102), wordAt(all, 103))).toBe(660);
    expect(floatOf(wordAt(all, 104), wordAt(all, 105))).toBe(42.5);
  });
});
