import { describe, expect, it } from 'vitest';
import type { Correction } from '../../../daemon/core/thermometry/calibration.ts';
import { CONVERTERS, coldErrorAtTipC, hotErrorC } from '../../../daemon/core/thermometry/converter.ts';
import { type Budget, budgetOf, type Known } from '../../../daemon/core/thermometry/uncertainty.ts';
import { readJson } from './reference-data.ts';

const usual: Known = {
  letter: 'K',
  celsius: 650,
  wireClass: 2,
  converter: CONVERTERS['14-bit'],
  coldJunctionC: 25,
  correction: null,
};
const certificate: Correction = {
  correctionC: -3,
  uncertaintyC: 1.2,
  beyondC: 0,
  isOverdue: false,
  sentences: [],
};
const part = (budget: Budget, what: string) => budget.contributions.find((c) => c.what.startsWith(what));

describe('the uncertainty of a reading', () => {
  it('adds up wire, converter, terminals and last digit as the root of the sum of squares', () => {
    const limits = readJson<{ budget_at_650C: { rss_C: number } }>('converters.json').budget_at_650C;
    const budget = budgetOf(usual);
    expect(budget.contributions.map((c) => c.what)).toEqual([
      'wire, class 2',
      'converter for type K in steps of a quarter degree',
      'terminals’ temperature',
      'last digit',
    ]);
    // The reference adds the limits themselves; each of ours is a √3th of its limit, and the last digit is 0.25/√12.
    const withoutStepC = Math.sqrt(budget.standardC ** 2 - (0.25 / Math.sqrt(12)) ** 2);
    expect(withoutStepC * Math.sqrt(3)).toBeCloseTo(limits.rss_C, 1);
    expect(budget.expandedC).toBeCloseTo(2 * budget.standardC, 12);
    expect(budget.expandedC).toBeCloseTo(6.93, 2);
  });

  it('takes limits over √3, a step over √12, a certificate over 2', () => {
    const bare = budgetOf(usual);
    expect(part(bare, 'wire')).toMatchObject({ statedC: 4.875, standardC: expect.closeTo(4.875 / Math.sqrt(3), 9) });
    expect(part(bare, 'last digit')?.standardC).toBeCloseTo(0.25 / Math.sqrt(12), 9);
    expect(part(budgetOf({ ...usual, correction: certificate }), 'certificate')).toMatchObject({
      statedC: 1.2,
      standardC: 0.6,
    });
  });

  it('is smaller with a certificate, which takes the place of the wire’s class', () => {
    const budget = budgetOf({ ...usual, correction: certificate });
    expect(part(budget, 'wire')).toBeUndefined();
    expect(budget.expandedC).toBeLessThan(budgetOf(usual).expandedC);
  });

  it('takes the class on top again once the certificate is overdue', () => {
    const budget = budgetOf({ ...usual, correction: { ...certificate, isOverdue: true } });
    expect(part(budget, 'wire')?.statedC).toBe(4.875);
    expect(budget.expandedC).toBeGreaterThan(budgetOf(usual).expandedC);
  });

  it('grows beyond the certificate’s points, to the whole class a hundred degrees out', () => {
    const beyond = [0, 10, 50, 100, 300].map((beyondC) =>
      budgetOf({ ...usual, correction: { ...certificate, beyondC } }),
    );
    const expandedC = beyond.map((b) => b.expandedC);
    expect([...expandedC].sort((a, b) => a - b)).toEqual(expandedC);
    expect(new Set(expandedC).size).toBe(4);
    expect(beyond.map((b) => part(b, 'wire')?.statedC)).toEqual([
      undefined,
      expect.closeTo(0.4875, 9),
      expect.closeTo(2.4375, 9),
      4.875,
      4.875,
    ]);
  });

  it('counts a read-out coarser than the converter', () => {
    const budget = budgetOf({ ...usual, stepC: 5 });
    expect(part(budget, 'last digit')?.standardC).toBeCloseTo(5 / Math.sqrt(12), 9);
  });

  it('moves the terminals’ error to the tip by what the couple gives here and there', () => {
    expect(coldErrorAtTipC('K', 650, 25, 3)).toBeCloseTo((3 * 40.52) / 42.25, 2);
    expect(coldErrorAtTipC('S', 650, 25, 3)).toBeCloseTo((3 * 5.99) / 10.36, 2);
    expect(coldErrorAtTipC('B', 650, 25, 3)).toBeLessThan(0.03);
  });

  it('has the sensitivities that the reference states, to its last digit', () => {
    const stated = readJson<{ sensitivity_uV_per_K: Record<string, Record<string, number>> }>('converters.json');
    const { K = {}, N = {} } = stated.sensitivity_uV_per_K;
    for (const [celsius, microvolts] of Object.entries(K)) {
      expect(3 / coldErrorAtTipC('K', Number(celsius), 25, 1)).toBeCloseTo((3 * microvolts) / (K['25'] ?? 0), 2);
    }
    expect(coldErrorAtTipC('N', 650, 25, 1)).toBeCloseTo((N['25'] ?? 0) / (N['650'] ?? 1), 3);
  });

  it('is coarser for a converter that is coarser, and for one of which nothing is known the coarsest', () => {
    const of = (kind: keyof typeof CONVERTERS) => budgetOf({ ...usual, converter: CONVERTERS[kind] }).expandedC;
    expect(of('18-bit')).toBeLessThan(of('14-bit'));
    expect(of('unknown')).toBeGreaterThanOrEqual(of('14-bit'));
    expect(hotErrorC(CONVERTERS['14-bit'], 'K', 700)).toBe(2);
    expect(hotErrorC(CONVERTERS['14-bit'], 'K', 701)).toBe(6);
  });

  it('lets an error told in mV weigh more where the couple gives less', () => {
    expect(hotErrorC(CONVERTERS['19-bit'], 'K', 650)).toBeCloseTo(0.117 / 0.04225, 2);
    expect(hotErrorC(CONVERTERS['19-bit'], 'S', 650)).toBeCloseTo(0.117 / 0.01036, 1);
  });
});
