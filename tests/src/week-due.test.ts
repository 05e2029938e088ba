import { describe, expect, test } from 'vitest';
import { dueSummary } from '../../src/week-due.ts';

const at = (text: string): number => Date.parse(text);
const due = (now: string, zone = 'Europe/Berlin', time = '06:30') => {
  const found = dueSummary(at(now), { zone, time });
  return found && [found.week, new Date(found.dueAt).toISOString(), new Date(found.until).toISOString()];
};

describe('when the summary of a week is due', () => {
  test('[WD1] on the Monday after it, at the local time and not a millisecond before', () => {
    expect(due('2026-11-23T05:29:59.999Z')).toBeNull();
    expect(due('2026-11-23T05:30:00.000Z')).toEqual(['2026-W47', '2026-11-23T05:30:00.000Z', '2026-11-29T23:00:00.000Z']);
  });

  test('[WD1] by the clocks of the zone on both sides of a change (IANA: Berlin leaves summer time on Sunday 25 October 2026)', () => {
    expect(due('2026-10-20T00:00Z')?.[1]).toBe('2026-10-19T04:30:00.000Z');
    expect(due('2026-10-27T00:00Z')?.[1]).toBe('2026-10-26T05:30:00.000Z');
    // Cairo puts its clocks on during the night to a Friday, Lord Howe by half an hour: Mondays keep their hour.
    expect(due('2026-10-06T00:00Z', 'Australia/Lord_Howe')?.[1]).toBe('2026-10-04T19:30:00.000Z');
  });

  test('[WD1] across the turn of a year with 53 weeks', () => {
    expect(due('2027-01-04T12:00Z')?.[0]).toBe('2026-W53');
    expect(due('2027-01-11T12:00Z')?.[0]).toBe('2027-W01');
  });

  test("[WD2] until that Monday's own week ends, then the next one counts", () => {
    expect(due('2026-11-29T22:59:59.999Z')?.[0]).toBe('2026-W47');
    expect(due('2026-11-29T23:00:00.000Z')).toBeNull();
    expect(due('2026-11-30T05:30:00.000Z')?.[0]).toBe('2026-W48');
  });
});
