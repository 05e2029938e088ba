import { expect, test } from 'vitest';
import { UNHEARD } from '../../src/alarm.ts';
import { chamberAlarms } from '../../src/alarm-now.ts';
import type { AlarmStand } from '../../src/chamber-state.ts';
import { rulesBySignals as rules } from '../scenarios/scenario-rules.ts';

const stand = (part: Partial<AlarmStand>): AlarmStand => ({ ...UNHEARD, heard: true, ...part });
const HIGH = Object.values(rules.alarms).find(({ priority, notice }) => priority === 'high' && !notice)!.code;
const now = (alarms: Readonly<Record<string, AlarmStand>>, ...codes: string[]) => chamberAlarms(rules, alarms, new Set(codes));

test('[AO1] standing ones wait first, then by priority; returned ones wait too; untold, acknowledged and suppressed ones do not', () => {
  const found = now({
    GONE: stand({ acknowledged: false }),
    OTHER: stand({ since: 5, acknowledged: false }),
    [HIGH]: stand({ since: 9, acknowledged: false, branches: [1, 2] }),
    DONE: stand({ since: 5, acknowledged: true }),
    UNTOLD: stand({ since: 5 }),
    SHELVED: stand({ since: 5, acknowledged: false, suppressed: true, suppressedAs: ['shelved'] }),
  });
  expect(found.awaiting.map(({ code, since, earlier }) => [code, since, earlier])).toEqual([
    [HIGH, 9, 2],
    ['OTHER', 5, 0],
    ['GONE', null, 0],
  ]);
});

test('[AO2] only what the site file allows can be acknowledged from here', () => {
  const alarms = { A: stand({ since: 1, acknowledged: false }), B: stand({ since: 2, acknowledged: false }) };
  expect(now(alarms, 'B').awaiting.map(({ code, canAcknowledge }) => [code, canAcknowledge])).toEqual([
    ['A', false],
    ['B', true],
  ]);
});

test('[AO3] what is kept from being annunciated is told with what it is and until when', () => {
  const held = stand({ suppressed: true, suppressedAs: ['shelved', 'out of service'], shelvedUntil: 77 });
  expect(now({ A: held, B: stand({ since: 3 }) }).suppressed).toMatchObject([
    { code: 'A', since: null, as: ['shelved', 'out of service'], until: 77 },
  ]);
});

test('[AO4] a latched alarm whose process is back to normal is told apart, acknowledged or not; one that stands or is shelved is not', () => {
  const found = now({
    HELD: stand({ acknowledged: false, latched: true }),
    SEEN: stand({ acknowledged: true, latched: true }),
    UP: stand({ since: 5, acknowledged: true, latched: true }),
    SHELVED: stand({ latched: true, suppressed: true, suppressedAs: ['shelved'] }),
    RESET: stand({ acknowledged: true, latched: false }),
  });
  expect(found.latched.map(({ code }) => code)).toEqual(['HELD', 'SEEN']);
  expect(found.awaiting.map(({ code }) => code)).toEqual(['HELD']);
});

test('[AO5] earlier activations that wait for their own acknowledgement are told one by one, the oldest first, whatever became of the last one', () => {
  const alarms = { A: stand({ acknowledged: true, branches: [7, 3] }), B: stand({ since: 9, branches: [5] }), C: stand({ since: 4 }) };
  expect(now(alarms, 'A').earlier.map(({ code, of, canAcknowledge }) => [code, of, canAcknowledge])).toEqual([
    ['A', 3, true],
    ['B', 5, false],
    ['A', 7, true],
  ]);
});
