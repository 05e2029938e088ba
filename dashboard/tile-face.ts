/**
 * What a tile says, decided away from pixels: one word, one mark, one tone and one number of time for each chamber, so that a person five
 * metres away knows who needs them. Tones follow the meanings of IEC 60073: red act at once, yellow attend, blue an operator's turn,
 * everything else neutral. A chamber nobody hears shows no state at all: the last good word would be a lie.
 */
import type { ChamberTile } from '../src/contract.ts';
import { doingOf, type Doing } from '../src/doing.ts';
import { shortTime, duration, phaseWord, type Duration } from './format.ts';

type Tone = 'act' | 'attend' | 'turn' | 'ready' | 'plain' | 'quiet' | 'dead';
export type Mark = 'run' | 'hold' | 'unload' | 'load' | 'door' | 'idle' | 'down' | 'service' | 'trial' | 'off' | 'lost';

export type Face = {
  readonly word: string;
  readonly mark: Mark;
  readonly tone: Tone;
  /** The big number and what it counts. Null when there is nothing honest to count. */
  readonly time: Duration | null;
  readonly caption: string;
  /** Clock time beside the word: when it finishes, or since when. */
  readonly aside: string;
  /** Recipe, phase, reason: the second line in two halves. */
  readonly detail: string;
  readonly progress: string;
};

/** What the reader's clock and place are. `speed` is above 1 only in an accelerated demo. */
export type Viewpoint = { readonly now: number; readonly zone: string; readonly speed: number };

/** Data older than this is said to be old. */
const STALE_MS = 10_000;

export const ageMs = (tile: ChamberTile, now: number): number | null => (tile.heardAt === null ? null : Math.max(0, now - tile.heardAt));

export function isDead(tile: ChamberTile): boolean {
  return tile.link !== 'live' || tile.state === 'unobserved';
}

/** The age to show, or null while the data is fresh. An accelerated plant ages faster than its heartbeats come. */
export function shownAge(tile: ChamberTile, view: Viewpoint): number | null {
  const age = ageMs(tile, view.now);
  return age !== null && age > STALE_MS * Math.max(1, view.speed) ? age : null;
}

export function face(tile: ChamberTile, view: Viewpoint): Face {
  if (isDead(tile)) return deadFace(tile, view);
  const { word, mark } = FACES[doingOf(tile)];
  return { word, mark, tone: tone(tile), detail: detail(tile), ...counting(tile, view) };
}

function deadFace(tile: ChamberTile, { now, zone }: Viewpoint): Face {
  const since = tile.heardAt;
  return {
    word: 'NO DATA',
    mark: 'lost',
    tone: 'dead',
    time: since === null ? null : duration(now - since),
    caption: since === null ? '' : 'silent',
    aside: '',
    detail: since === null ? 'never heard' : `no data since ${shortTime(since, now, zone)}, state unknown`,
    progress: '',
  };
}

const FACES: Readonly<Record<Doing, { readonly word: string; readonly mark: Mark }>> = {
  running: { word: 'RUNNING', mark: 'run' },
  hold: { word: 'ON HOLD', mark: 'hold' },
  loading: { word: 'LOADING', mark: 'door' },
  unloading: { word: 'UNLOADING', mark: 'door' },
  told: { word: 'PRODUCTIVE', mark: 'run' },
  unload: { word: 'UNLOAD', mark: 'unload' },
  load: { word: 'LOAD', mark: 'load' },
  idle: { word: 'IDLE', mark: 'idle' },
  down: { word: 'DOWN', mark: 'down' },
  maintenance: { word: 'MAINTENANCE', mark: 'service' },
  engineering: { word: 'ENGINEERING', mark: 'trial' },
  nonscheduled: { word: 'NO SHIFT', mark: 'off' },
  unobserved: { word: 'NO DATA', mark: 'lost' },
};

function tone(tile: ChamberTile): Tone {
  if (tile.need === 'call-maintenance') return 'act';
  if (tile.need === 'attend') return 'attend';
  if (tile.need === 'unload') return 'turn';
  if (tile.need === 'load') return 'ready';
  return tile.state === 'standby' || tile.state === 'nonscheduled' ? 'quiet' : 'plain';
}

type Counting = Pick<Face, 'time' | 'caption' | 'aside' | 'progress'>;

const inRun = (tile: ChamberTile): boolean =>
  tile.run !== null && (tile.state === 'productive' || tile.state === 'engineering') && tile.waitingSince === null;

const isOut = ({ state }: ChamberTile): boolean =>
  state === 'unscheduled-downtime' || state === 'scheduled-downtime' || state === 'nonscheduled';

/** Beside a long word there is room for a day or for the word 'since', not for both; what is counted says it too. */
function since(at: number, { now, zone }: Viewpoint): string {
  const time = shortTime(at, now, zone);
  return time.length > 5 ? time : `since ${time}`;
}

function counting(tile: ChamberTile, view: Viewpoint): Counting {
  const { now } = view;
  if (tile.run && inRun(tile)) return runCounting(tile.run, view);
  // A chamber that is down waits for nobody to unload it.
  if (tile.waitingSince !== null && !isOut(tile)) {
    return {
      time: duration(now - tile.waitingSince),
      caption: 'waiting',
      aside: since(tile.waitingSince, view),
      progress: '',
    };
  }
  const caption = tile.state === 'unscheduled-downtime' ? 'down' : tile.state === 'standby' ? 'idle' : 'for';
  return { time: duration(now - tile.stateSince), caption, aside: since(tile.stateSince, view), progress: '' };
}

/** The forecast is never set in the past when it is made, so a finish that just went by means: any moment. */
const DUE_MS = 30_000;

function runCounting(run: NonNullable<ChamberTile['run']>, { now, zone, speed }: Viewpoint): Counting {
  const elapsed = duration(now - run.startedAt);
  if (!run.finish) return { time: elapsed, caption: 'elapsed', aside: '', progress: 'end not known' };
  const left = run.finish.likely - now;
  const aside = `ends ${shortTime(run.finish.likely, now, zone)}`;
  const progress = `${elapsed.amount} ${elapsed.unit} in`;
  if (left > 0) return { time: duration(left), caption: 'to finish', aside, progress };
  if (left > -DUE_MS * Math.max(1, speed)) return { time: duration(0), caption: 'to finish', aside: 'due now', progress };
  return { time: duration(-left), caption: 'over time', aside, progress };
}

function detail(tile: ChamberTile): string {
  if (tile.told) return tile.reason;
  if (tile.state === 'unscheduled-downtime' || tile.state === 'scheduled-downtime') return tile.reason === 'maintenance' ? '' : tile.reason;
  if (tile.state === 'nonscheduled') return 'outside the calendar';
  const recipe = tile.run?.recipe ?? tile.recipe;
  if (tile.state === 'standby' && tile.waitingSince === null) return tile.reason === 'idle' ? 'no run' : tile.reason;
  if (tile.waitingSince !== null) return [recipe, 'back at atmosphere'].filter(Boolean).join(' · ');
  return [recipe ?? 'recipe not known', phaseWord(tile.phase, tile.step, tile.stepCount)].join(' · ');
}
