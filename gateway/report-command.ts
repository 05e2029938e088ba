/** The sheets of a week from a data folder, without a running gateway or beside it: the folder is only read. */
import type { SiteFile } from '../src/config.ts';
import { Fault } from '../src/fault.ts';
import { restoredState } from '../src/stored-state.ts';
import { openAnswers } from './answers.ts';
import type { Clock } from './clock.ts';
import { siteCore } from './core.ts';
import { openPapers } from './papers.ts';
import { plantOf } from './plant.ts';
import { ReasonBook } from './reason-book.ts';
import type { Store } from './store/store.ts';

type ReportParts = { readonly site: SiteFile; readonly store: Store; readonly clock: Clock; readonly version: string };

export async function weekReport(week: string, { site, store, clock, version }: ReportParts): Promise<Uint8Array> {
  const plant = plantOf(site);
  const core = siteCore(site, 1);
  const [snapshots, extent] = [await store.snapshots(), await store.extent()];
  const states = new Map(
    core.chambers.map((chamber) => {
      const snapshot = snapshots.get(chamber);
      const initial = core.initialChamber(chamber);
      return [chamber, snapshot === undefined ? initial : restoredState(JSON.parse(snapshot), initial)];
    }),
  );
  const reasons = new ReasonBook({
    store,
    onFatal: (error) => {
      throw error;
    },
  });
  await reasons.start();
  const answers = openAnswers({
    plant,
    store,
    // A hurried plant's books run ahead of real time.
    clock: { ...clock, now: () => Math.max(clock.now(), extent?.last ?? 0) },
    reasons,
    record: notHere,
    state: (chamber) => states.get(chamber) ?? core.initialChamber(chamber),
    earlierShifts: () => [],
    fleet: notHere,
    servers: () => [],
    health: () => ({ ready: false, problems: [] }),
    readTrace: notHere,
    acknowledge: notHere,
  });
  const known = await answers.weeks();
  if (!known.some((line) => line.week === week))
    throw new Fault(
      'not-found',
      `There are no facts of week ${week} in the data folder.${known[0] ? ` It holds ${known.at(-1)?.week} to ${known[0].week}.` : ''}`,
    );
  return openPapers({ ...answers, plant, report: site.reports, version, store }).weekPaper(week);
}

const notHere = (): never => {
  throw new Fault('internal', 'A report only reads the books.');
};
