import { describe, expect, test } from 'vitest';
import { alarm, at, cleared, ran, rulesWith, tick, told } from './watch-fixture.ts';

const RULES = rulesWith({}, ['chattering']);
const run = (inputs: Parameters<typeof ran>[0], rules = RULES) => ran(inputs, rules);
/** Comes every `every` minutes for `on` seconds. */
const flutter = (times: number, every: number, on: number, code = 'DOOR') =>
  Array.from({ length: times }, (_, i) => [alarm(i * every, code), cleared(i * every + on / 60, code)]).flat();

describe('a chattering alarm', () => {
  test('[CK1] is told when it came three times within a minute', () => {
    expect(run(flutter(2, 0.2, 3)).all).toEqual([]);
    expect(run(flutter(3, 0.5, 3)).all).toEqual([]);
    expect(told(run(flutter(3, 0.4, 3)).last)).toEqual([['chattering', 'PC-01', 0.8, null]]);
    expect(run([alarm(0), alarm(0.1, 'X'), alarm(0.2, 'Y')]).all).toEqual([]);
  });

  test('[CK1] a slow one is told with the tenth short activation within an hour; long ones are no chatter', () => {
    expect(told(run(flutter(12, 2, 4)).last)).toEqual([['chattering', 'PC-01', 18, null]]);
    expect(run(flutter(12, 2, 30)).all).toEqual([]);
    expect(run(flutter(12, 7, 4)).all).toEqual([]);
  });

  test('[CK2] one alert per episode: it counts on, and ends with its last word when a shift passed without one', () => {
    const { all, last } = run([...flutter(20, 2, 4), tick(600)]);
    expect(all.map(({ alarms }) => alarms?.count)).toEqual([10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20, 20]);
    expect(last[0]).toMatchObject({
      state: 'closed',
      closedAt: at(38 + 4 / 60),
      headline: 'PC-01: over. text of DOOR (DOOR) came 20 times in 38 min.',
    });
    const again = [...flutter(10, 2, 4), alarm(400, 'DOOR'), tick(18 + 500)];
    expect(told(run(again).last)).toEqual([['chattering', 'PC-01', 18, null]]);
  });

  test('[CK3] its cure names the delay that its own activations ask for', () => {
    expect(run(flutter(12, 0.5, 4)).last[0]?.cure).toMatch(/off-delay of 30 s would have removed \d+ of 12 activations/);
  });

  test('[CK4] notices, suppressed alarms and those found standing do not count', () => {
    for (const part of [{ notice: true }, { suppressed: true }, { counted: false }])
      expect(run([0, 0.1, 0.2, 0.3].map((minutes) => alarm(minutes, 'X', part))).all).toEqual([]);
    const short = flutter(9, 2, 4);
    const last = [alarm(18, 'DOOR'), cleared(18.1, 'DOOR'), alarm(20, 'DOOR', { suppressed: true }), cleared(300, 'DOOR'), tick(600)];
    expect(run([...short, ...last]).last[0]?.closedAt).toBe(at(18.1));
    const unseen = Array.from({ length: 12 }, (_, i) => alarm(i * 2, 'DOOR'));
    expect(run(unseen).all).toEqual([]);
  });
});
