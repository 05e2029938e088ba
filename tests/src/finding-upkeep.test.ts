import { expect, test } from 'vitest';
import type { MaintenanceLine } from '../../src/counter-answer.ts';
import { certificateFindings, maintenanceFindings } from '../../src/finding-upkeep.ts';
import { HOUR, NOON } from './watch-fixture.ts';

const DAY = 24 * HOUR;
const line = (part: Partial<MaintenanceLine>): MaintenanceLine => ({
  ...{
    chamber: 'PC-07',
    name: 'Pump oil',
    part: 'pump',
    counted: 'pump-hours',
    every: 1500 * HOUR,
    used: 1480 * HOUR,
    since: null,
    isSinceWork: true,
  },
  ...{
    unobservedMs: 0,
    left: 20 * HOUR,
    state: 'due',
    early: NOON,
    likely: NOON + 2 * DAY,
    late: null,
    overdueSince: null,
    due: 'about 27 Nov',
  },
  ...part,
});
const found = (part: Partial<MaintenanceLine>) => maintenanceFindings([line(part)], { now: NOON, daysAhead: 3 });

test('[UF1] maintenance is told from three days before its likely day on, and when overdue', () => {
  expect(found({})[0]).toMatchObject({
    ...{ subject: 'PC-07 Pump oil', headline: 'PC-07: Pump oil is due about 27 Nov.' },
    facts: [
      { label: 'Used', value: '1480 h of 1500 h' },
      { label: 'Counted', value: 'since the last work that was told' },
    ],
  });
  expect(found({ likely: NOON + 3 * DAY })).toHaveLength(1);
  expect(found({ likely: NOON + 3 * DAY + 1 })).toEqual([]);
  expect(found({ state: 'overdue', likely: null, due: 'overdue by 12 h' })[0]?.headline).toBe('PC-07: Pump oil is overdue by 12 h.');
  for (const state of ['far', 'unknown'] as const) expect(found({ state, likely: null })).toEqual([]);
});

test('[UF2] certificates are told from so many days before their end on: ours, a server’s, a user’s', () => {
  const uses = [
    { whose: 'own', server: '', validTo: NOON + 29 * DAY },
    { whose: 'server', server: 'amber', validTo: NOON - DAY },
    { whose: 'user', server: 'birch', validTo: NOON + 31 * DAY },
  ] as const;
  const near = certificateFindings(uses, { now: NOON, daysAhead: 30 });
  expect(near.map(({ subject, headline }) => [subject, headline])).toEqual([
    ['our own', 'The certificate of this gateway expires in 29 days.'],
    ['server amber', 'The certificate of amber has expired.'],
  ]);
  expect(near[1]?.cure).toBe('Renew it at amber, then trust the new one here with glowfleet trust.');
  expect(certificateFindings(uses, { now: NOON, daysAhead: 10 }).map(({ subject }) => subject)).toEqual(['server amber']);
});
