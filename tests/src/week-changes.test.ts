import { expect, test } from 'vitest';
import type { ReasonRow } from '../../src/contract.ts';
import { weekChanges } from '../../src/week-changes.ts';

const H = 3_600_000;
const row = (from: number, change: Partial<ReasonRow> = {}): ReasonRow => ({
  entry: `e${from}`,
  chamber: 'PC-05',
  from,
  to: null,
  until: from + 3 * H,
  state: 'unscheduled-downtime',
  reason: 'RF generator or match',
  note: '',
  by: 'early shift',
  enteredAt: from + H,
  downtime: 'repair',
  workedOn: ['match'],
  withdrawnAt: null,
  withdrawnBy: null,
  ...change,
});

test('[WC1] entries that touch the week are listed newest first, with who told them and who took them back', () => {
  const rows = [
    row(10 * H),
    row(20 * H, { until: null, withdrawnBy: 'late shift', withdrawnAt: 30 * H }),
    row(-9 * H),
    row(200 * H),
    row(-2 * H, { until: 40 * 60_000 }),
  ];
  expect(weekChanges(rows, { from: 0, to: 168 * H })).toEqual([
    {
      at: 20 * H,
      chamber: 'PC-05',
      text: 'RF generator or match (unscheduled downtime), still on, told by early shift; taken back by late shift',
    },
    { at: 10 * H, chamber: 'PC-05', text: 'RF generator or match (unscheduled downtime), 3.0 h, told by early shift' },
    { at: -2 * H, chamber: 'PC-05', text: 'RF generator or match (unscheduled downtime), 2.7 h, told by early shift' },
  ]);
});
