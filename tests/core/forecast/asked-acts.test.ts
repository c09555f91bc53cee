import { describe, expect, it } from 'vitest';
import { type AskedAct, askedActs, type Hands } from '../../../daemon/core/forecast/asked-acts.ts';
import type { Schedule } from '../../../daemon/core/plan/schedule.ts';
import { matt } from '../feeding.ts';

const gas: Hands = { heat: 'gas', closure: 'door', isCrackedFirst: true };
const electric: Hands = { heat: 'electric', closure: 'lid', isCrackedFirst: true };
const said = (schedule: Schedule, kiln: Hands): string[] =>
  askedActs(schedule, kiln).map((act: AskedAct) => `${act.segment + 1}: ${act.do}`);

describe('what a firing asks of the hand', () => {
  it('names every turn of the valve that the schedule leaves unsaid', () => {
    expect(said(matt, gas)).toEqual([
      '2: turn the valve for 120 °C/h',
      '2: turn down to hold 660',
      '3: stand at the valve',
      '4: hold over: gas off first, damper after',
      '5: crack the door',
      '5: unload',
    ]);
  });

  it('asks of an electric kiln only a look and the opening', () => {
    expect(said(matt, electric)).toEqual(['4: check that it lets go', '5: crack the lid', '5: unload']);
  });

  it('does not ask twice for what the schedule asks in its own words', () => {
    const own: Schedule = {
      ...matt,
      segments: [
        { kind: 'ramp', toC: 450, rateCPerH: 240, opening: 'propped' },
        {
          kind: 'ramp',
          toC: 660,
          rateCPerH: 240,
          acts: [
            { when: 'start', do: 'smoke gone: shut the vent, then the door' },
            { when: { atC: 645 }, do: 'Turn the gas down' },
          ],
        },
        { kind: 'hold', minutes: 15, acts: [{ when: 'end', do: 'heat off (gas first, damper after)' }] },
        { kind: 'ramp', toC: 150, rateCPerH: 'let-fall', acts: [{ when: 'end', do: 'crack it' }] },
        { kind: 'ramp', toC: 50, rateCPerH: 'let-fall', acts: [{ when: 'end', do: 'unload the pieces' }] },
      ],
    };
    expect(said(own, gas)).toEqual([
      '2: smoke gone: shut the vent, then the door',
      '2: Turn the gas down',
      '3: heat off (gas first, damper after)',
      '4: crack it',
      '5: unload the pieces',
    ]);
  });

  it('asks to shut what stood open while the medium smoked off', () => {
    const propped = {
      ...matt,
      segments: matt.segments.map((s, i) => (i === 0 ? { ...s, opening: 'propped' as const } : s)),
    };
    expect(said(propped, electric)[0]).toBe('2: close the vent and the lid');
  });

  it('asks for a controlled fall and for the hold that ends it', () => {
    const annealed: Schedule = {
      name: 'Thick piece',
      segments: [
        { kind: 'ramp', toC: 660, rateCPerH: 150 },
        { kind: 'hold', minutes: 4 },
        { kind: 'ramp', toC: 540, rateCPerH: 90 },
        { kind: 'hold', minutes: 60 },
        { kind: 'ramp', toC: 50, rateCPerH: 'let-fall' },
      ],
    };
    expect(said(annealed, { ...gas, isCrackedFirst: false })).toEqual([
      '1: turn down to hold 660',
      '3: hold over: turn down to fall 90 °C/h',
      '3: be there to hold 540',
      '4: stand at the valve',
      '5: hold over: gas off first, damper after',
      '5: unload',
    ]);
  });
});
