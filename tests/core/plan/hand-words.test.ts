import { describe, expect, it } from 'vitest';
import { haveCommon, thingsDone, thingsIn } from '../../../daemon/core/plan/hand-words.ts';

const answers = (call: string, what: string, value?: string, isUp = false): boolean =>
  haveCommon(thingsDone(what, value, isUp), thingsIn(call));

describe('the words of the hand', () => {
  it.each([
    ['turn the gas down', 'valve', 'mark 3'],
    ['stand by and turn the heat down', 'valve', 'mark 2.5'],
    ['heat off (gas first, damper after)', 'flame', 'out'],
    ['gas off, damper after', 'valve', 'mark 0'],
    ['gas off, damper after', 'heat', 'off'],
    ['smoke gone: close the vent, then the door or lid', 'vent', 'closed'],
    ['close the vent and the lid', 'lid', 'closed'],
    ['crack the door or lid', 'door', 'open'],
    ['look for gloss through the spyhole, eyes protected', 'gloss seen', undefined],
    ['once the heat is off: ports shut, spyhole plugged', 'bung', 'in'],
    ['draw a trial', 'trial drawn', undefined],
    ['turn the valve for 150 °C/h', 'valve', 'mark 4'],
  ])('“%s” is answered by %s %s', (call, what, value) => {
    expect(answers(call, what, value)).toBe(true);
  });

  it.each([
    ['turn the gas down', 'valve', 'mark 5', true],
    ['gas off, damper after', 'damper', 'mark 2', false],
    ['gas off, damper after', 'valve', 'mark 2', false],
    ['gas off, damper after', 'valve', 'mark 0.5', false],
    ['turn the gas down', 'gloss seen', undefined, false],
    ['crack the door', 'door', 'closed', false],
    ['light it', 'flame', 'out', false],
    ['unload', 'note', 'the bottle is full', false],
  ])('“%s” is not answered by %s %s', (call, what, value, isUp) => {
    expect(answers(call, what, value, isUp)).toBe(false);
  });
});
