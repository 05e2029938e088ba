import { expect, test } from 'vitest';
import type { SiteFile } from '../../src/config.ts';
import { firstMembers, membersAfter, membersDuring, type Member } from '../../src/site-members.ts';

const template = { rfMaxW: 1 } as unknown as SiteFile['templates'][string];
const site = (...ids: string[]) => ({
  chambers: ids.map((id) => ({ id, template: 'small' })) as unknown as SiteFile['chambers'],
  templates: { small: template },
});
const during = (members: readonly Member[], from: number, to: number) => membersDuring(members, { from, to });

const added = membersAfter(firstMembers(site('A', 'B')), { before: site('A', 'B'), after: site('B', 'C'), at: 100 });

test('[SM1] the first chambers belong to the site from ever, a later one from when it was added', () => {
  expect(added.find(({ id }) => id === 'B')?.spans).toEqual([{ from: null, until: null }]);
  expect(added.find(({ id }) => id === 'C')?.spans).toEqual([{ from: 100, until: null }]);
});

test('[SM2] one taken out belongs until then with the last word of the site file, and anew when it comes back', () => {
  expect(added.find(({ id }) => id === 'A')).toEqual({
    id: 'A',
    spans: [{ from: null, until: 100 }],
    last: { chamber: { id: 'A', template: 'small' }, template },
  });
  const still = membersAfter(added, { before: site('B', 'C'), after: site('B'), at: 150 });
  expect(still.find(({ id }) => id === 'A')?.spans).toEqual([{ from: null, until: 100 }]);
  const back = membersAfter(still, { before: site('B'), after: site('A', 'B'), at: 200 });
  expect(back[0]).toEqual({
    id: 'A',
    spans: [
      { from: null, until: 100 },
      { from: 200, until: null },
    ],
    last: null,
  });
});

test('[SM3] a window concerns those that belonged at any time of it, half-open, the present ones first', () => {
  expect(during(added, 0, 100)).toEqual(['B', 'A']);
  expect(during(added, 0, 101)).toEqual(['B', 'C', 'A']);
  expect(during(added, 99, 200)).toEqual(['B', 'C', 'A']);
  expect(during(added, 100, 200)).toEqual(['B', 'C']);
});
