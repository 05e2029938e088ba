/**
 * An eye on the wall: reads every tile's words out of the page again and again, with what the gateway says at the same moment, and judges them
 * afterwards by what really happened in the plant. The judge knows nothing of how a tile is made.
 */
import type { Page } from 'playwright-core';
import type { Fleet } from '../../src/contract.ts';
import type { TruthLine } from '../../gateway/simulator/plant-port.ts';

export type Glance = {
  /** Plant times of the gateway's answers before and after the look at the page. */
  readonly from: number;
  readonly at: number;
  readonly fleet: Fleet;
  /** Chamber to the big word on its tile. */
  readonly words: ReadonlyMap<string, string>;
};

/** The words that fit an equipment state; a chamber nobody hears shows none of them. */
const FITTING: Readonly<Record<string, readonly string[]>> = {
  productive: ['RUNNING', 'ON HOLD', 'LOADING', 'UNLOADING', 'UNLOAD'],
  standby: ['IDLE', 'UNLOAD', 'LOAD'],
  engineering: ['ENGINEERING'],
  'scheduled-downtime': ['MAINTENANCE'],
  'unscheduled-downtime': ['DOWN'],
  nonscheduled: ['NO SHIFT'],
  unobserved: ['NO DATA'],
};

const wordsOnPage = (page: Page): Promise<[string, string][]> =>
  page.evaluate(() =>
    [...document.querySelectorAll<HTMLElement>('.tile')].map((tile): [string, string] => [
      tile.dataset['chamber'] ?? '',
      tile.querySelector('.word')?.textContent?.trim() ?? '',
    ]),
  );

export type Watching = { readonly everyMs: number; /** Plant time between two answers. */ readonly longestGlanceMs: number };

/** Looks until told to stop; what it saw is the answer. No glance: a gateway that does not answer, or a machine too busy to look in time. */
export function watchWall(page: Page, fleet: () => Promise<Fleet>, { everyMs, longestGlanceMs }: Watching): { stop(): Promise<Glance[]> } {
  const glances: Glance[] = [];
  let isOver = false;
  const look = async (): Promise<void> => {
    while (!isOver) {
      const before = await fleet().catch(() => null);
      const words = new Map(await wordsOnPage(page));
      const after = await fleet().catch(() => null);
      if (before !== null && after !== null && after.now - before.now < longestGlanceMs)
        glances.push({ from: before.now, at: after.now, fleet: after, words });
      await new Promise((done) => setTimeout(done, everyMs));
    }
  };
  // A page that is closed under it ends the watch; the test that wants to know finds too few looks.
  const looking = look().catch(() => undefined);
  return {
    stop: async () => {
      isOver = true;
      await looking;
      return glances;
    },
  };
}

export type Judgement = { readonly looked: number; readonly wrong: readonly string[] };

/**
 * A tile may trail the gateway's answer by `lagMs` of plant time: its word must fit a state told within it. A state that came and went between
 * two questions to the gateway is seen by the page alone, so a word is wrong when it fits nothing in two looks running.
 */
export function againstGateway(glances: readonly Glance[], lagMs: number): Judgement {
  const wrong: string[] = [];
  let looked = 0;
  let doubted = new Set<string>();
  for (const [i, glance] of glances.entries()) {
    const near = glances.slice(0, i + 2).filter((g) => g.at >= glance.from - lagMs);
    const doubtful = new Set<string>();
    for (const [chamber, word] of glance.words) {
      const states = new Set(near.map((g) => g.fleet.chambers.find((tile) => tile.chamber === chamber)?.state ?? ''));
      looked += 1;
      if ([...states].some((state) => FITTING[state]?.includes(word))) continue;
      doubtful.add(chamber);
      if (!doubted.has(chamber)) continue;
      wrong.push(`${new Date(glance.at).toISOString()} ${chamber} shows ${word}, the gateway says ${[...states].join(' or ')}`);
    }
    doubted = doubtful;
  }
  return { looked, wrong };
}

type StateLine = Extract<TruthLine, { kind: 'state' }>;

/** Wrong is a tile that tells of a run where there has been none for `lagMs`, or of none where a run has been going on for that long. */
export function againstTruth(glances: readonly Glance[], truth: readonly TruthLine[], lagMs: number): Judgement {
  const wrong: string[] = [];
  let looked = 0;
  const states = truth.filter((line): line is StateLine => line.kind === 'state');
  for (const { from, at, words } of glances) {
    for (const [chamber, word] of words) {
      const steady = states.find((line) => line.chamber === chamber && line.from <= from - lagMs && line.to > at);
      if (steady === undefined || word === 'NO DATA') continue;
      looked += 1;
      if (!(FITTING[steady.state] ?? []).includes(word) && isGrave(steady, word)) {
        wrong.push(
          `${new Date(at).toISOString()} ${chamber} shows ${word}, in truth ${steady.state} (${steady.reason}) since ${new Date(steady.from).toISOString()}`,
        );
      }
    }
  }
  return { looked, wrong };
}

/** Which of two kinds of downtime or of engineering it is can only be inferred; whether there is a run cannot be mistaken. */
function isGrave(truth: StateLine, word: string): boolean {
  const runs = truth.state === 'engineering' || truth.reason === 'run';
  const showsRun = word === 'RUNNING' || word === 'ENGINEERING' || word === 'ON HOLD';
  return runs !== showsRun;
}
