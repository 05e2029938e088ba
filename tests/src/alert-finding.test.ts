import { expect, test } from 'vitest';
import { watch } from '../../src/alert-watch.ts';
import type { Finding, FindingKind, FindingsInput } from '../../src/alert-finding.ts';
import { at, MIN, ran, rulesWith, told } from './watch-fixture.ts';

const finding = (subject: string, part: Partial<Finding> = {}): Finding => ({
  ...{ subject, chamber: 'PC-07', headline: `${subject} is`, over: `${subject} is over`, rule: 'r', cure: 'c', facts: [] },
  ...part,
});
const look = (minutes: number, of: FindingKind, ...findings: readonly Finding[]): FindingsInput => ({
  kind: 'findings',
  of,
  at: at(minutes),
  findings,
});
const run = (inputs: readonly FindingsInput[], rules = rulesWith()) => ran(inputs, rules);

test('[FD1] a finding opens an alert, one that changed is told in it, one that is gone ends it', () => {
  const { all } = run([
    look(0, 'meter-due', finding('oil')),
    look(60, 'meter-due', finding('oil', { headline: 'oil more' })),
    look(120, 'meter-due'),
  ]);
  expect(all.map(({ headline, state, updatedAt }) => [headline, state, (updatedAt - at(0)) / MIN])).toEqual([
    ['oil is', 'open', 0],
    ['oil more', 'open', 60],
    ['oil is over', 'closed', 120],
  ]);
  expect(run([look(0, 'meter-due', finding('oil')), look(60, 'meter-due', finding('oil'))]).all).toHaveLength(1);
});

test('[FD1] a trouble of the gateway is told once it held for a minute, and over once it was gone for ten', () => {
  const trouble = finding('disk', { chamber: null });
  expect(run([look(0, 'gateway', trouble), look(0.5, 'gateway')]).all).toEqual([]);
  const { all } = run([
    look(0, 'gateway', trouble),
    look(1, 'gateway', trouble),
    look(2, 'gateway'),
    look(5, 'gateway', trouble),
    look(6, 'gateway'),
    look(17, 'gateway'),
  ]);
  expect(told(all)).toEqual([
    ['gateway', null, 1, null],
    ['gateway', null, 1, 17],
  ]);
});

test('[FD1] kinds do not end each other’s findings, and a rule that is off opens none', () => {
  expect(run([look(0, 'meter-due', finding('oil')), look(1, 'certificate')]).last[0]?.state).toBe('open');
  expect(run([look(0, 'meter-due', finding('oil'))], rulesWith({}, ['drift'])).all).toEqual([]);
});

test('[FD1] what is open when its rule is turned off ends and says why; other kinds stay', () => {
  const { state } = run([look(0, 'meter-due', finding('oil')), look(0, 'drift', finding('pump'))]);
  const { state: later, alerts } = watch(rulesWith({}, ['drift']), state, look(5, 'meter-due', finding('oil')));
  expect(alerts.map(({ headline, state: is }) => [headline, is])).toEqual([
    ['Told no more: the site file turned alerts of this kind off. It was: oil is', 'closed'],
  ]);
  expect(Object.keys(later.found)).toEqual(['drift/pump']);
});

test('[FD2] of one chamber, a drift of the same cause is part of the first; one of another cause, or chamber, is not', () => {
  const pump = finding('PC-07 pump-down', { cause: 'pump speed' });
  const { last } = run([
    look(0, 'drift', pump),
    look(60, 'drift', pump, finding('PC-07 pressure', { cause: 'pump speed' }), finding('PC-07 ignition', { cause: 'electrode' })),
    look(120, 'drift', pump, finding('PC-08 pressure', { cause: 'pump speed', chamber: 'PC-08' })),
  ]);
  expect(last.map(({ id, partOf }) => [id.split('/')[1], partOf])).toEqual([
    ['PC-07 pump-down', null],
    ['PC-07 pressure', last[0]?.id],
    ['PC-07 ignition', null],
    ['PC-08 pressure', null],
  ]);
});

test('[FD1] a drift is over when it was gone for a day', () => {
  const one = finding('PC-07 pump-down');
  const gone = (hours: number) => run([look(0, 'drift', one), look(1, 'drift'), look(1 + hours * 60, 'drift')]).last[0];
  expect([gone(23)?.state, gone(24)?.state]).toEqual(['open', 'closed']);
  expect(run([look(0, 'drift', one), look(1, 'drift'), look(600, 'drift', one), look(1500, 'drift')]).last[0]?.state).toBe('open');
});
