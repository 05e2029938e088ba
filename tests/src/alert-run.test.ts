import { describe, expect, test } from 'vitest';
import type { WatchInput } from '../../src/alert-watch.ts';
import type { EventOf } from '../../src/event.ts';
import type { Deviation, RunRecord } from '../../src/run-facts.ts';
import { at, ran, rulesWith, told } from './watch-fixture.ts';

const RULES = rulesWith({}, ['process-check']);
const run = (inputs: readonly WatchInput[]) => ran(inputs, RULES);
const flow: Deviation = { code: 'flow-out-of-band', text: 'CF4 flow out of its band for 40 s', step: 1 };
const energy: Deviation = { code: 'energy-low', text: 'delivered RF energy 96.9 %', step: null };
const purge: Deviation = { code: 'purge-short', text: 'pumped 3 s after the last fluorinated gas', step: null };

type Part = Partial<EventOf<'run-ended'>> & { readonly deviations?: readonly Deviation[]; readonly share?: number };
function ends(minutes: number, { deviations = [], share = 0.98, ...part }: Part = {}): WatchInput[] {
  const name = `PC-01/${minutes}`;
  const ended = {
    kind: 'run-ended',
    chamber: 'PC-01',
    at: at(minutes),
    run: name,
    startedAt: at(minutes - 30),
    outcome: 'completed',
  } as const;
  const rest = { recipe: 'DSM-PI-25', load: 'QM-26-04117-A', engineering: false, doorClosedAt: null, observedMs: 1 } as const;
  const record = { deviations, energyJ: share * 1000, nominalEnergyJ: 1000 } as unknown as RunRecord;
  const whole: EventOf<'run-ended'> = { ...ended, ...rest, ...part, phases: [] };
  return [whole, { kind: 'run-record', chamber: 'PC-01', at: at(minutes), run: name, record, digest: '' }];
}
const finding = (minutes: number, code: EventOf<'finding'>['code'], of: string | null = null): WatchInput => ({
  ...{ kind: 'finding', chamber: 'PC-01', at: at(minutes), code, text: `found: ${code}`, run: of },
});

describe('process check', () => {
  test('[PK1] a run outside its limits opens one alert for all its deviations, and the next run within them ends it', () => {
    const { all } = run([...ends(0, { deviations: [flow, energy], share: 0.9 }), ...ends(40)]);
    expect(told(all)).toEqual([
      ['process-check', 'PC-01', 0, null],
      ['process-check', 'PC-01', 0, 40],
    ]);
    expect(all[0]).toMatchObject({
      headline: 'PC-01: a run of DSM-PI-25 outside limits: CF4 flow out of its band for 40 s, and 1 more.',
      facts: expect.arrayContaining([{ label: 'Load', value: 'QM-26-04117-A' }]) as unknown,
      cure: 'Check the supply pressure and the filter before that flow controller.',
    });
    expect(all[1]?.headline).toBe(
      'PC-01: over. The last run kept its limits, after one run that did not: CF4 flow out of its band for 40 s.',
    );
  });

  test('[PK1] runs that go on deviating are counted in it', () => {
    const { last } = run([...ends(0, { deviations: [flow] }), ...ends(40, { deviations: [flow] }), ...ends(80, { deviations: [flow] })]);
    expect(last).toHaveLength(1);
    expect(last[0]?.headline).toMatch(/^PC-01: 3 runs of DSM-PI-25 outside limits/);
    expect(last[0]?.updatedAt).toBe(at(80));
  });

  test('[PK1] energy by a hair under its limit is told with the second run in a row, by more at once', () => {
    const slight = { deviations: [energy], share: 0.955 };
    expect(run(ends(0, slight)).all).toEqual([]);
    expect(run([...ends(0, slight), ...ends(40), ...ends(80, slight)]).all).toEqual([]);
    expect(told(run([...ends(0, slight), ...ends(40, slight)]).last)).toEqual([['process-check', 'PC-01', 40, null]]);
    expect(run(ends(0, { deviations: [energy], share: 0.87 })).last).toHaveLength(1);
  });

  test('[PK2] aborted and engineering runs are not told, nor a run that was not fully observed, and they end nothing', () => {
    expect(run(ends(0, { deviations: [flow], outcome: 'aborted' })).all).toEqual([]);
    expect(run(ends(0, { deviations: [flow], engineering: true })).all).toEqual([]);
    expect(run(ends(0, { deviations: [{ code: 'not-fully-observed', text: 'x', step: null }] })).all).toEqual([]);
    expect(run([...ends(0, { deviations: [flow] }), ...ends(40, { outcome: 'aborted' })]).last[0]?.state).toBe('open');
  });

  test('[PK3] a purge too short is told at once in any run, with high severity, and its record is the same alert', () => {
    const { last } = run([finding(0, 'purge-short', 'PC-01/2'), ...ends(2, { deviations: [purge], outcome: 'aborted' })]);
    expect(last).toHaveLength(1);
    expect(last[0]).toMatchObject({ severity: 'high', startedAt: at(0), id: 'process-check/PC-01 purge-short/2026-11-25T12:00:00.000Z' });
    expect(run(ends(0, { deviations: [purge], outcome: 'interrupted' })).last[0]?.severity).toBe('high');
    expect(last[0]?.headline).toMatch(/[^.]\.$/);
    expect(run([finding(0, 'gas-with-door-open'), finding(1, 'vent-with-pump-valve-open')]).last).toHaveLength(1);
    expect(run([finding(0, 'phase-tag-mismatch')]).all).toEqual([]);
  });

  test('[PK3] in a later run as in the first, a finding and its record count once', () => {
    const cut = (minutes: number) => [finding(minutes - 2, 'purge-short', `PC-01/${minutes}`), ...ends(minutes, { deviations: [purge] })];
    const { last } = run([...cut(10), ...cut(50)]);
    expect(last).toHaveLength(1);
    expect(last[0]?.facts.find(({ label }) => label === 'Runs since')?.value).toMatch(/^2, the last/);
  });

  test('[PK3] the record of the run in which it was found does not end it, also where it could not see it; the next run does', () => {
    const found = [finding(0, 'purge-short', 'PC-01/2'), ...ends(2, { outcome: 'interrupted' })];
    expect(run(found).last[0]).toMatchObject({ state: 'open', headline: 'PC-01: a run outside limits: found: purge-short.' });
    const again = [...found, finding(10, 'purge-short', 'PC-01/40'), ...ends(40)];
    expect(run(again).last[0]?.state).toBe('open');
    expect(run([...again, ...ends(80)]).last[0]).toMatchObject({ state: 'closed', closedAt: at(80) });
  });

  test('[PK3] no cure tells anyone to bridge, bypass or reset anything', () => {
    const all = (['purge-short', 'vent-with-pump-valve-open', 'gas-with-door-open'] as const).flatMap(
      (code) => run([finding(0, code)]).last,
    );
    const more = (['energy-low', 'energy-high', 'step-short', 'flow-out-of-band', 'power-out-of-band', 'reflected-high'] as const).flatMap(
      (code) => run([...ends(0, { deviations: [{ ...flow, code }], share: 0.5 })]).last,
    );
    expect([...all, ...more].length).toBeGreaterThan(7);
    for (const { cure } of [...all, ...more]) expect(cure).not.toMatch(/bridge|bypass|reset|override/i);
  });
});
