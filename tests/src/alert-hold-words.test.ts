import { expect, test } from 'vitest';
import { alarm, down, ran, rulesWith, stateOf, tick } from './watch-fixture.ts';

test('[HW1] the rule says its number and what time it counts, the cure is a check or a word', () => {
  const kinds = ['down', 'waiting', 'stale'] as const;
  const { last } = ran(
    [down(0), alarm(0, 'OIL', { chamber: 'PC-02' }), stateOf(0, 'standby', 'waiting for unload', 'PC-03'), tick(1500)],
    rulesWith({}, kinds),
  );
  expect(last.map(({ kind, rule }) => [kind, rule])).toEqual([
    ['down', 'down for 30 min of scheduled time and nobody works on it, or for 4 h altogether (alerts.rules.down)'],
    ['waiting', 'a finished load waits for 30 min of scheduled time (alerts.rules.waiting)'],
    ['stale', 'an alarm stands for more than 24 h observed (alerts.rules.stale; ISA-18.2 calls it stale after 24 h)'],
  ]);
  for (const { cure } of last) {
    expect(cure).toMatch(/^(Call|Unload|Clear)/);
    expect(cure).not.toMatch(/bridge|bypass|reset/i);
  }
});
