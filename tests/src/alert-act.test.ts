import { describe, expect, test } from 'vitest';
import { firstComment, handsAfter, NO_HANDS, type AlertAct, type Hands, type NewAct } from '../../src/alert-act.ts';

const act = (deed: NewAct['deed'], who: string, at = 1_000, text = ''): NewAct => ({ alert: 'a', at, who, deed, text });
const after = (...acts: readonly NewAct[]): Hands => acts.reduce(handsAfter, NO_HANDS);

describe('what an alert is after an act', () => {
  test('[IB1] the first who acknowledges is who acknowledged, and the second is told who that was', () => {
    const seen = after(act('acknowledged', 'A. Brandt', 5));
    expect(seen).toEqual({ ...NO_HANDS, acknowledgedAt: 5, acknowledgedBy: 'A. Brandt' });
    expect(() => handsAfter(seen, act('acknowledged', 'B. Cole'))).toThrow('A. Brandt acknowledged this alert already.');
  });

  test('[IB2] who takes an alert has seen it, but whoever saw it first stays the first', () => {
    expect(after(act('taken', 'A. Brandt', 7))).toEqual({
      ...{ acknowledgedAt: 7, acknowledgedBy: 'A. Brandt', takenAt: 7, takenBy: 'A. Brandt' },
    });
    const seenBefore = after(act('acknowledged', 'C. Dahl', 3), act('taken', 'A. Brandt', 7));
    expect(seenBefore).toMatchObject({ acknowledgedAt: 3, acknowledgedBy: 'C. Dahl', takenBy: 'A. Brandt' });
  });

  test('[IB3] it is taken over only from the one who has it', () => {
    const taken = after(act('taken', 'A. Brandt'));
    expect(() => handsAfter(taken, act('taken', 'A. Brandt'))).toThrow('A. Brandt has taken this alert already.');
    expect(() => handsAfter(taken, act('taken', 'B. Cole'))).toThrow('Take it over from A. Brandt');
    expect(() => handsAfter(taken, act('taken', 'B. Cole', 9, 'C. Dahl'))).toThrow('A. Brandt has taken this alert.');
    expect(handsAfter(taken, act('taken', 'B. Cole', 9, 'A. Brandt'))).toMatchObject({ takenBy: 'B. Cole', takenAt: 9 });
    expect(() => after(act('taken', 'B. Cole', 9, 'A. Brandt'))).toThrow('A. Brandt no longer has this alert.');
  });

  test('[IB4] anybody gives back what is taken, it stays acknowledged, and nothing else can be given back', () => {
    const back = after(act('taken', 'A. Brandt', 7), act('given back', 'B. Cole', 8));
    expect(back).toEqual({ acknowledgedAt: 7, acknowledgedBy: 'A. Brandt', takenAt: null, takenBy: null });
    expect(() => handsAfter(back, act('given back', 'A. Brandt'))).toThrow('nothing to give back');
  });

  test('[IB5] comments and mutes change nothing of it', () => {
    const taken = after(act('taken', 'A. Brandt'));
    for (const deed of ['commented', 'muted', 'unmuted'] as const) expect(handsAfter(taken, act(deed, 'B. Cole', 9, 'x'))).toBe(taken);
  });
});

test('[IB6] the same comment by the same person within ten seconds is a second click, in plant time at the speed of the plant', () => {
  const known: AlertAct[] = [{ ...act('commented', 'A. Brandt', 1_000, 'hose kinked'), id: 4 }];
  const again = (change: Partial<NewAct>, speed = 1) =>
    firstComment({ ...act('commented', 'A. Brandt', 10_999, 'hose kinked'), ...change }, known, speed)?.id;
  expect([again({}), again({ at: 11_000 }), again({ at: 11_000 }, 60)]).toEqual([4, undefined, 4]);
  expect([again({ who: 'B. Cole' }), again({ text: 'x' }), again({ alert: 'b' })]).toEqual([undefined, undefined, undefined]);
});
