import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { burstBaselines } from '../../gateway/baselines.ts';
import { parseSite } from '../../gateway/config.ts';
import { siteCore } from '../../gateway/core.ts';
import { ended, newAlert } from '../../src/alert-form.ts';
import { memoryStore } from '../../gateway/store/memory.ts';
import type { ChamberEvent } from '../../src/event.ts';
import type { Reading } from '../../src/reading.ts';

const DAY = 86_400_000;
const FILE = 'gateway/simulator/quellmoor.yaml';
const site = parseSite(FILE, readFileSync(FILE, 'utf8'));
const reading = (chamber: string, at: number, receivedAt = at): Reading => ({
  chamber,
  signal: 'chamber.pressure',
  value: at,
  quality: 'good',
  at,
  timeOrigin: 'source',
  receivedAt,
});
const alarmAt = (at: number, code = 'RF_FAULT'): ChamberEvent => ({
  chamber: 'PC-01',
  at,
  kind: 'alarm',
  code,
  text: 'RF fault',
  priority: 'high',
  notice: false,
  change: 'activated',
  counted: true,
  suppressed: false,
});
const NOW = Date.UTC(2026, 10, 25, 10);

describe('the core of a site', () => {
  test('hands readings on in order of time, each chamber by its own window', () => {
    const core = siteCore(site);
    const arrived = [reading('PC-01', NOW + 5000, NOW), reading('PC-01', NOW + 4000, NOW), reading('PC-02', NOW + 1, NOW)];
    expect(core.order(arrived, NOW)).toEqual([]);
    expect(core.order([], NOW + 10_000).map((r) => [r.chamber, r.at - NOW])).toEqual([
      ['PC-01', 4000],
      ['PC-01', 5000],
      ['PC-02', 1],
    ]);
  });

  test('lets go of everything that waits when time is over', () => {
    const core = siteCore(site);
    core.order([reading('PC-01', NOW)], NOW);
    expect(core.order([], null)).toHaveLength(1);
  });

  test('in hurried time a steady flood is told although its facts trail the clock by minutes', () => {
    const opened = (): readonly string[] => {
      const core = siteCore(site, 60);
      let state = core.initialWatch();
      const ids = new Set<string>();
      for (let n = 0; n < 30; n++) {
        const at = NOW + n * 50_000;
        const step = core.watch(state, { events: [alarmAt(at, `A${n}`)], now: at + 180_000 });
        state = step.state;
        for (const alert of step.alerts) ids.add(alert.kind);
      }
      return [...ids].sort();
    };
    expect(opened()).toEqual(['burst', 'flood']);
  });

  test('counts a reading that came twice', () => {
    const core = siteCore(site);
    core.order([reading('PC-01', NOW)], NOW);
    core.order([reading('PC-01', NOW)], NOW);
    core.order([], null);
    expect(core.orderCounters()).toEqual({ leftOut: 0, duplicates: 1 });
  });
});

describe('what is usual, from the books', () => {
  const state = (at: number): ChamberEvent => ({
    chamber: 'PC-01',
    at,
    kind: 'equipment-state',
    state: 'standby',
    reason: 'idle',
    source: 'tag',
    run: null,
  });
  const baselineAfter = async (days: number) => {
    const store = memoryStore();
    const alarms = Array.from({ length: days }, (_, day) => alarmAt(NOW - day * DAY - 1000));
    await store.append({ events: [state(NOW - days * DAY - 5000), ...alarms], snapshots: new Map() });
    const query = { chambers: ['PC-01', 'PC-02'], now: NOW, epsilon: 0.1, heardUntil: { 'PC-01': NOW } };
    return burstBaselines(store, query);
  };

  test('is unknown under thirty observed days', async () => {
    expect((await baselineAfter(20)).get('PC-01')?.classes).toBeNull();
  });

  test('is one alarm a day where there was one alarm a day', async () => {
    const known = (await baselineAfter(40)).get('PC-01')?.classes?.['not-running'];
    expect(known?.activations).toBe(40);
    expect(known?.observedHours).toBeCloseTo(40 * 24, 1);
    expect(known?.per10Min).toBeCloseTo(1 / 144, 5);
  });

  test('is not taught by what the house did to several chambers at once', async () => {
    const after = async (together: readonly string[]) => {
      const store = memoryStore();
      const begun = [5, 15, 25, 35].map((day) => NOW - day * DAY);
      const alarms = begun.flatMap((at) => [0, 1, 2, 3, 4].map((n) => alarmAt(at + n * 20_000, `ALARM_${n}`)));
      const causes = begun.map((at) => {
        const fresh = newAlert({
          kind: 'common-cause',
          subject: 'POWER_DIP',
          at,
          severity: 'high',
          headline: 'x',
          rule: 'x',
          together: [...together],
        });
        return ended(fresh, at + 1_200_000);
      });
      await store.append({ events: [state(NOW - 40 * DAY), ...alarms], alerts: causes, snapshots: new Map() });
      const query = { chambers: ['PC-01'], now: NOW, epsilon: 0.1, heardUntil: { 'PC-01': NOW } };
      return (await burstBaselines(store, query)).get('PC-01')?.classes?.['not-running'];
    };
    expect(await after(['PC-01', 'PC-02', 'PC-03'])).toMatchObject({ activations: 0, threshold: 3 });
    expect((await after(['PC-02', 'PC-03', 'PC-04']))?.threshold, 'of others: its own habit').toBeGreaterThan(5);
  });

  test('is unknown for a chamber nobody heard', async () => {
    expect((await baselineAfter(40)).get('PC-02')).toMatchObject({ observedDays: 0, classes: null });
  });
});
