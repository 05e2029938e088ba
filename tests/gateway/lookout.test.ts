import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import { Lookout, type LookoutParts } from '../../gateway/lookout.ts';
import { Recently } from '../../gateway/recently.ts';
import type { FindingsInput } from '../../src/alert-finding.ts';
import { demoSite } from '../accuracy/plant-feed.ts';

const NOW = Date.UTC(2026, 10, 25, 12);
const opened: Lookout[] = [];
afterEach(() => opened.splice(0).forEach((one) => one.stop()));

function lookout(change: Partial<LookoutParts> = {}): {
  lookout: Lookout;
  found: FindingsInput[];
  all: (of: string) => Promise<FindingsInput>;
} {
  const found: FindingsInput[] = [];
  const waiting = new Map<string, (input: FindingsInput) => void>();
  const one = new Lookout({
    site: () => demoSite(),
    clock: { now: () => NOW, steadyMs: () => 0, speed: 1 },
    folder: tmpdir(),
    drift: () => Promise.resolve({ at: NOW, measures: [], chambers: [], notCheckable: '' }),
    counters: () => Promise.resolve({ at: NOW, totals: [], maintenance: [] }),
    certificates: () => [{ whose: 'own', server: '', validTo: NOW + 86_400_000 }],
    dropped: () => ({ facts: 0, live: 0 }),
    slowestCommitMs: () => 0,
    routes: () => [],
    find: (input) => {
      found.push(input);
      waiting.get(input.of)?.(input);
    },
    realNow: () => NOW,
    onFatal: (error) => expect.unreachable(String(error)),
    ...change,
  });
  opened.push(one);
  const all = (of: string): Promise<FindingsInput> => new Promise((resolve) => waiting.set(of, resolve));
  return { lookout: one, found, all };
}

describe('the lookout', () => {
  it('looks at everything at once, and tells each kind what holds at present', async () => {
    const { lookout: one, all } = lookout({ slowestCommitMs: () => 6_000 });
    const kinds = ['drift', 'meter-due', 'certificate', 'gateway'].map(all);
    one.start();
    const told = await Promise.all(kinds);
    expect(told.map(({ of, at, findings }) => [of, at, findings.map(({ subject }) => subject)])).toEqual([
      ['drift', NOW, []],
      ['meter-due', NOW, []],
      ['certificate', NOW, ['our own']],
      ['gateway', NOW, ['store']],
    ]);
  });

  it('tells of a link process that died, and of a message given up', async () => {
    const route = {
      route: 'mail',
      type: 'mail',
      place: '',
      state: 'failing',
      lastDeliveredAt: null,
      failingSince: null,
      lastError: null,
    } as const;
    const { lookout: one, all } = lookout({ routes: () => [{ ...route, waiting: 0, dead: 1 }] });
    one.linkDied();
    const gateway = all('gateway');
    one.start();
    expect((await gateway).findings.map(({ subject }) => subject)).toEqual(['link', 'messages mail']);
  });

  it('a data folder that cannot be looked at is told, and ends nothing', async () => {
    const { lookout: one, all } = lookout({ folder: join(tmpdir(), 'glowfleet nowhere', 'at all') });
    const gateway = all('gateway');
    one.start();
    const { findings } = await gateway;
    expect(findings.map(({ subject, headline }) => [subject, headline])).toEqual([
      ['disk', 'The disk of the data folder cannot be looked at (ENOENT). Whether there is room on it is not known.'],
    ]);
  });

  it('a question that fails ends the process, as any broken store does', async () => {
    const failed = Promise.withResolvers<unknown>();
    lookout({ drift: () => Promise.reject(new Error('store')), onFatal: failed.resolve }).lookout.start();
    expect(String(await failed.promise)).toBe('Error: store');
  });

  it('a question that is still open at the end may fail: the store is closed then', async () => {
    const answer = Promise.withResolvers<never>();
    const fatal: unknown[] = [];
    const { lookout: one } = lookout({ drift: () => answer.promise, onFatal: (error) => fatal.push(error) });
    one.start();
    one.stop();
    answer.reject(new Error('The store is closed.'));
    await new Promise((resolve) => setImmediate(resolve));
    expect(fatal).toEqual([]);
  });
});

describe('what came within the last while', () => {
  it('is the sum of what is not older, and of a growing count what it gained', () => {
    const recently = new Recently(1000);
    expect([
      recently.grown(0, 50),
      recently.grown(100, 53),
      recently.grown(900, 53),
      recently.grown(1099, 53),
      recently.grown(1100, 53),
    ]).toEqual([0, 3, 3, 3, 0]);
    expect(recently.grown(1200, 2)).toBe(2);
    recently.add(1300, 5);
    expect(recently.sum(1300)).toBe(7);
  });
});
