import { afterEach, describe, expect, test } from 'vitest';
import { wording } from '../../daemon/core/alerts/wording.ts';
import { couplesWord } from '../../daemon/core/report/couples.ts';
import { celsius, degrees, deviation, rate } from '../../web/format.ts';
import { inShownUnit, setUnit } from '../../web/unit.ts';

afterEach(() => setUnit('C'));

describe('a screen that shows degrees Fahrenheit', () => {
  test('turns temperatures, differences and rates each in its own way', () => {
    setUnit('F');
    expect(celsius(660)).toBe('1220 °F');
    expect(degrees(100)).toBe('212');
    expect(deviation(5)).toBe('9 °F over');
    expect(rate(-100)).toBe('falling 180 °F/h');
    expect(rate(3)).toBe('steady');
  });

  test.each([
    [
      wording.overshootForeseen('gas', 648, 672, '14:10'),
      'Turn down now: 1198, heading for 1242 about 14:10. Gas first, damper after.',
    ],
    [
      wording.overshootHappening('electric', 671.4, 666),
      'Too hot: 1240, the plan allows 1231. Switch off at the wall.',
    ],
    [
      wording.overshootBecause(648.2, 120, 666, 540),
      '1198.8 °F, climbing 216 °F an hour; 1231 is passed in 9 minutes. If nothing is done the colour may burn out or the glass soften.',
    ],
    [
      wording.stallForeseen('electric', 480, 30),
      'The climb is dying away: 896, 54 an hour. An element, or low mains: look at the kiln.',
    ],
    [
      wording.silence(20, ''),
      'No reading for 20 seconds. Assume it’s still heating; go to it with the hand pyrometer.'.replace('’', "'"),
    ],
    [wording.lidOpen('door', 310, '20:50'), 'The door is open at 590. Close it gently; open it not before 20:50.'],
    [
      'Hold at 660, 12 of 15 min. All well. Next: gas off, damper after at 14:20.',
      'Hold at 1220, 12 of 15 min. All well. Next: gas off, damper after at 14:20.',
    ],
    [
      'Climbing to 450: 260 now, there about 10:47. All well.',
      'Climbing to 842: 500 now, there about 10:47. All well.',
    ],
    ['Next: turn the valve for 120 °C/h at 10:47.', 'Next: turn the valve for 216 °F/h at 10:47.'],
    ['Turn down to hold 660 at 13:52.', 'Turn down to hold 1220 at 13:52.'],
    [
      'Kiln 40: valve mark 30, 200 mbar, 6 mm, 25 % and 300 lines.',
      'Kiln 40: valve mark 30, 200 mbar, 6 mm, 25 % and 300 lines.',
    ],
    [
      couplesWord([{ name: 'shelf', celsius: 120 }], undefined).sentence,
      'The kiln is still at 248: its couples can be compared once it is cold.',
    ],
  ])('turns what is a temperature in “%s” and nothing else', (said, shown) => {
    expect(inShownUnit(said)).toBe(said);
    setUnit('F');
    expect(inShownUnit(said)).toBe(shown);
  });
});
