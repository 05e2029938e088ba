/** The inbox's order and words, when it calls out loud, and until when a mute may hold. */
import { describe, expect, test } from 'vitest';
import { newCalls } from '../../dashboard/alert-call.ts';
import { isFailing, sentWords, stageWords } from '../../dashboard/alert-sent.ts';
import { groupOf, isChosen, needsMe, othersWords, saidOf, sections, subjectOf, usualWords, type Choice } from '../../dashboard/inbox.ts';
import { localMoment, muteChoices, mutedWords, muteTimes } from '../../dashboard/mute-times.ts';
import type { InboxAlert } from '../../src/alert-inbox.ts';
import type { AlertBrief } from '../../src/contract.ts';
import { alertsOf } from '../e2e/fixture-inbox.ts';
import { exampleDelivery, exampleInboxAlert, exampleMute } from '../gateway/wire-examples.ts';

const NOW = Date.UTC(2026, 10, 25, 9, 48);
const HOUR = 3_600_000;
const ZONE = 'Europe/Berlin';
const viewer = { me: 'A. Brandt', now: NOW };

const row = (id: string, change: Partial<InboxAlert> = {}): InboxAlert =>
  exampleInboxAlert({ id, startedAt: NOW - HOUR, mute: null, deliveries: [], acts: [], ...change });
const brief = (id: string, change: Partial<AlertBrief> = {}): AlertBrief => ({
  ...{ id, kind: 'burst', chamber: 'PC-06', severity: 'high', state: 'open', startedAt: NOW - HOUR, headline: id },
  ...{ acknowledgedBy: null, takenBy: null, partOf: null, mutedUntil: null },
  ...change,
});

describe('the order', () => {
  test('what nobody saw comes first, then mine, then what others have, then what is muted, then what is over', () => {
    const seen = { acknowledgedAt: NOW, acknowledgedBy: 'C. Dahl' };
    const rows = [
      row('over', { state: 'closed', closedAt: NOW, ...seen }),
      row('muted', { mute: exampleMute({ until: NOW + HOUR }) }),
      row('theirs', { takenBy: 'B. Cole', takenAt: NOW, ...seen }),
      row('part', { partOf: 'wider' }),
      row('missed', { state: 'closed', closedAt: NOW }),
      row('over with a wider one', { state: 'closed', closedAt: NOW, partOf: 'wider' }),
      row('seen', seen),
      row('mine', { takenBy: 'A. Brandt', takenAt: NOW, ...seen, mute: exampleMute({ until: NOW + HOUR }) }),
      row('new'),
    ];
    expect(sections(rows, viewer).map(({ group, alerts }) => [group, alerts.map(({ id }) => id).join()])).toEqual([
      ['new', 'new'],
      ['yours', 'mine'],
      ['missed', 'missed'],
      ['seen', 'seen'],
      ['others', 'theirs'],
      ['part', 'part'],
      ['muted', 'muted'],
      ['over', 'over,over with a wider one'],
    ]);
    expect(sections([], viewer)).toEqual([]);
  });

  test('within a group the worst comes first, then the newest', () => {
    const rows = [
      row('low, new', { severity: 'low', startedAt: NOW }),
      row('high, old', { severity: 'high', startedAt: 1 }),
      row('high', { severity: 'high' }),
    ];
    expect(sections(rows, viewer)[0]?.alerts.map(({ id }) => id)).toEqual(['high', 'high, old', 'low, new']);
  });

  test('a mute that ran out mutes nothing', () => {
    expect([NOW + 1, NOW].map((mutedUntil) => groupOf(brief('a', { mutedUntil }), viewer))).toEqual(['muted', 'new']);
  });

  test('what needs me is what nobody saw and what I took; nobody without a name took anything', () => {
    const all = [
      brief('new'),
      brief('mine', { takenBy: 'A. Brandt' }),
      brief('theirs', { takenBy: 'B. Cole' }),
      brief('part', { partOf: 'x' }),
    ];
    expect(needsMe(all, viewer).map(({ id }) => id)).toEqual(['new', 'mine']);
    expect(needsMe(all, { me: '', now: NOW }).map(({ id }) => id)).toEqual(['new']);
  });

  test('the choice lets through a kind, a chamber alone or together with others, and what is mine', () => {
    const all = [
      row('a', { together: ['PC-09'] }),
      row('b', { kind: 'down', chamber: 'PC-09' }),
      row('c', { takenBy: 'A. Brandt', chamber: 'PC-02' }),
    ];
    const ids = (choice: Partial<Choice>) =>
      all
        .filter((one) => isChosen(one, { kind: '', chamber: '', mine: false, ...choice }, 'A. Brandt'))
        .map(({ id }) => id)
        .join();
    expect([ids({}), ids({ kind: 'down' }), ids({ chamber: 'PC-09' }), ids({ mine: true })]).toEqual(['a,b,c', 'b', 'a,b', 'c']);
  });
});

describe('words', () => {
  const [burst, flood] = alertsOf(NOW);
  const nameOf = (chamber: string): string => chamber.toLowerCase();

  test('a burst names the chambers that burst with it, a flood those its alarms came from', () => {
    expect(othersWords(burst, nameOf)).toBe('pc-08, pc-11 in the same minutes: look for a common cause');
    expect(othersWords({ ...burst, together: [] }, nameOf)).toBe('no other chamber at the same time');
    expect(othersWords({ ...flood, together: ['PC-07', 'PC-08'] }, nameOf)).toBe('pc-07, pc-08');
  });

  test('without history the inbox says so instead of a number', () => {
    expect(usualWords(burst.alarms!)).toBe('usual here 0.4 in 10 min, unusual from 5 (612 h of history)');
    expect(usualWords(flood.alarms!)).toContain('not enough history');
  });

  test('an alert is about a chamber, a position, several chambers, or the fleet', () => {
    const about = (change: Partial<InboxAlert>) => subjectOf(row('a', { chamber: null, together: [], ...change }), nameOf);
    expect([about({ chamber: 'PC-06' }), about({ position: 'East' }), about({ together: ['a', 'b'] }), about({})]).toEqual([
      ...['pc-06', 'East', '2 chambers', 'Fleet'],
    ]);
  });

  test('a headline is said without what stands beside it', () => {
    const said = (headline: string) => saidOf({ headline }, 'PC-07');
    expect([said('PC-07: 23 alarms'), said('PC-07: over. 12 alarms'), said('PC-08: no data'), said('over.')]).toEqual([
      ...['23 alarms', '12 alarms', 'PC-08: no data', 'over.'],
    ]);
  });

  test('what became of a message is said with its time, its attempts and its error, and what failed is marked', () => {
    const when = (at: number): string => `at ${at}`;
    const said = (change: Parameters<typeof exampleDelivery>[0]) => sentWords(exampleDelivery({ nextAt: null, ...change }), when);
    expect(said({ state: 'delivered', attempts: 1, deliveredAt: 7 })).toBe('delivered at 7');
    expect(said({ state: 'delivered', attempts: 3, deliveredAt: 7 })).toBe('delivered at 7 at attempt 3');
    expect(said({ state: 'waiting', nextAt: 9 })).toBe('waits at at 9');
    expect(said({ state: 'waiting', attempts: 2, lastError: 'refused', nextAt: 9 })).toBe(
      'not delivered after 2 attempts: refused; next at at 9',
    );
    expect(said({ state: 'dead', attempts: 9, lastError: 'refused' })).toBe('given up after 9 attempts: refused');
    expect(said({ state: 'spared', lastError: 'muted' })).toBe('not sent: muted');
    expect(said({ state: 'gathered' })).toContain('with others');
    const failing = (change: Parameters<typeof exampleDelivery>[0]) => isFailing(exampleDelivery(change));
    expect([
      failing({}),
      failing({ lastError: 'x' }),
      failing({ state: 'dead' }),
      failing({ state: 'spared', lastError: 'muted' }),
    ]).toEqual([...[false, true, true, false]]);
    expect(['opened', 'repeated-2', 'digest-2026-11-25T10:00:00.000Z'].map(stageWords)).toEqual([
      ...['when it began', 'reminder 2', 'with others in one message'],
    ]);
  });
});

describe('a call out loud', () => {
  test('is for high alerts that came while the page was open, once each', () => {
    const start = newCalls(null, [brief('old')], NOW);
    expect(start.calls).toEqual([]);
    const next = newCalls(start.known, [brief('old'), brief('new'), brief('medium', { severity: 'medium' })], NOW);
    expect(next.calls.map(({ id }) => id)).toEqual(['new']);
    expect(newCalls(next.known, [brief('old'), brief('new')], NOW).calls).toEqual([]);
    // Acknowledged and given back, it was heard already; what is gone from the list is forgotten.
    const seen = newCalls(next.known, [brief('new', { acknowledgedBy: 'x' })], NOW);
    expect([...seen.known]).toEqual(['new']);
    expect(newCalls(seen.known, [brief('new')], NOW).calls).toEqual([]);
  });

  test('is not for what somebody saw or took, what is muted, or what a wider alert tells', () => {
    const quiet = [
      brief('seen', { acknowledgedBy: 'x' }),
      brief('taken', { takenBy: 'x', acknowledgedBy: 'x' }),
      brief('muted', { mutedUntil: NOW + 1 }),
      brief('part', { partOf: 'wider' }),
      brief('over', { state: 'closed' }),
    ];
    const { known, calls } = newCalls(new Set(), quiet, NOW);
    expect(calls).toEqual([]);
    // Whose mute ran out, or who rose to high, calls then.
    expect(newCalls(known, [brief('muted', { mutedUntil: NOW + 1 })], NOW + 1).calls).toHaveLength(1);
  });
});

describe('a mute', () => {
  test('holds for an hour, to the end of the shift, or to tomorrow at six, in the time of the site', () => {
    const shiftEnd = Date.UTC(2026, 10, 25, 13);
    expect(muteTimes({ now: NOW, zone: ZONE, shiftEnd })).toEqual([
      { words: '1 h, until 11:48', until: NOW + HOUR },
      { words: 'to the end of the shift, 14:00', until: shiftEnd },
      { words: 'to tomorrow, Thu 26 Nov 06:00', until: Date.UTC(2026, 10, 26, 5) },
    ]);
    expect(muteTimes({ now: NOW, zone: ZONE, shiftEnd: null })).toHaveLength(2);
    expect(muteTimes({ now: NOW, zone: ZONE, shiftEnd: NOW + 30_000 })).toHaveLength(2);
  });

  test('tomorrow at six is six also on the night when the clocks go back', () => {
    const saturday = Date.UTC(2026, 9, 24, 12);
    expect(muteTimes({ now: saturday, zone: ZONE, shiftEnd: null })[1]?.until).toBe(Date.UTC(2026, 9, 25, 5));
  });

  test('a time of one’s own is a time on the site’s clocks', () => {
    expect(localMoment('2026-11-25T16:30', ZONE)).toBe(Date.UTC(2026, 10, 25, 15, 30));
    expect(localMoment('2026-07-01T16:30', ZONE)).toBe(Date.UTC(2026, 6, 1, 14, 30));
    expect([localMoment('', ZONE), localMoment('tomorrow', ZONE)]).toEqual([null, null]);
  });
});

test('of an alert about several chambers a mute is first of what they share, and says so', () => {
  const cause = { kind: 'common-cause', chamber: null, position: null, shares: 'cooling water (CW-1)' } as const;
  const [first, second] = muteChoices(cause, 'x');
  expect(first).toMatchObject({ kind: 'common-cause', chamber: null, shared: 'cooling water (CW-1)' });
  expect(second).toMatchObject({ kind: 'common-cause', chamber: null, shared: null });
  expect(muteChoices({ ...cause, shares: null }, 'x').map(({ shared }) => shared)).toEqual([null]);
  expect(muteChoices({ ...cause, kind: 'burst', chamber: 'PC-06' }, 'Chamber 6').map(({ words }) => words)).toEqual([
    'alarm burst at Chamber 6',
    'every alert of Chamber 6',
    'alarm burst, wherever',
  ]);
  for (const choice of [first!, second!]) expect(mutedWords(choice, (id) => id)).toBe(choice.words);
});
