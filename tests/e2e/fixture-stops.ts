/** Stops of the last days that wait for a word: three a chamber, at fixed hours before the fixture's day. */
import type { ChamberTile, ReasonRow, Stop, StopsPage } from '../../src/contract.ts';

const HOUR = 3_600_000;
const DAY = 24 * HOUR;

export function stopsOf(tiles: readonly ChamberTile[], now: number, told: readonly ReasonRow[], chamber: string | null): StopsPage {
  const midnight = now - (now % DAY);
  const explained = (stop: Stop): boolean =>
    told.some((row) => row.withdrawnAt === null && row.chamber === stop.chamber && row.from === stop.from);
  const all = tiles
    .filter((tile) => chamber === null || tile.chamber === chamber)
    .flatMap((tile, i): Stop[] =>
      [3, 29, 77].map((hoursBack) => {
        const from = midnight - hoursBack * HOUR - i * 600_000;
        const downMs = (20 + i * 7) * 60_000;
        const reasons = ['tripped: RF generator fault', 'repair: RF generator fault'];
        return { chamber: tile.chamber, from, to: from + downMs, isOn: false, downMs, reasons };
      }),
    );
  const stops = all.filter((stop) => !explained(stop)).sort((a, b) => b.from - a.from);
  const [unexplainedMs, unscheduledMs] = [stops, all].map((list) => list.reduce((sum, stop) => sum + stop.downMs, 0)) as [number, number];
  return { from: now - 8 * DAY, to: now, unexplainedMs, unscheduledMs, share: unexplainedMs / unscheduledMs, stops };
}
