/**
 * What a chamber does, in one word: its tile and the counts over the hall say the same because both ask here.
 * [DO1] A chamber that is not heard is unobserved, whatever it did last.
 * [DO2] Running is a run in progress. Loading, unloading and a hold are productive time too, and not running.
 * [DO3] With a finished load inside it waits to be unloaded, whether the time counts as productive or as standby.
 * [DO4] Productive by a person's word alone, with no run, is not running either.
 * [DO5] Scheduled downtime is maintenance; down is unscheduled.
 */
import type { ChamberTile } from './contract.ts';

export type Doing =
  | 'running'
  | 'hold'
  | 'loading'
  | 'unloading'
  | 'told'
  | 'unload'
  | 'load'
  | 'idle'
  | 'down'
  | 'maintenance'
  | 'engineering'
  | 'nonscheduled'
  | 'unobserved';

/** [DO1]-[DO5] */
export function doingOf(tile: Pick<ChamberTile, 'state' | 'link' | 'phase' | 'need' | 'told' | 'run' | 'waitingSince'>): Doing {
  if (tile.link !== 'live') return 'unobserved';
  switch (tile.state) {
    case 'productive':
      return working(tile);
    case 'standby':
      if (isWaiting(tile)) return 'unload';
      return tile.need === 'load' ? 'load' : 'idle';
    case 'scheduled-downtime':
      return 'maintenance';
    case 'unscheduled-downtime':
      return 'down';
    case 'engineering':
    case 'nonscheduled':
    case 'unobserved':
      return tile.state;
  }
}

/** [DO2] [DO4] */
function working(tile: Pick<ChamberTile, 'phase' | 'need' | 'told' | 'run' | 'waitingSince'>): Doing {
  if (tile.told && tile.run === null) return 'told';
  if (tile.phase === 'hold') return 'hold';
  if (tile.phase === 'load') return 'loading';
  if (tile.phase === 'unload') return 'unloading';
  return isWaiting(tile) ? 'unload' : 'running';
}

/** [DO3] */
const isWaiting = ({ need, phase, waitingSince }: Pick<ChamberTile, 'need' | 'phase' | 'waitingSince'>): boolean =>
  need === 'unload' || phase === 'wait-unload' || waitingSince !== null;
