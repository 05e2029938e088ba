/**
 * Faults that somebody may order into the running plant: what each does in one line, whether it strikes one chamber or the whole hall, what
 * its size means, and whether an order makes sense. What comes from outside is a value that may be wrong, never a throw.
 */
import { FAULT_NAMES, type FaultName, type FaultOrder, type SimulatedChamber } from './plant-port.ts';

export type FaultText = { readonly text: string; readonly strikes: 'chamber' | 'hall' | 'loop'; readonly size: string | null };

export const FAULTS: Readonly<Record<FaultName, FaultText>> = {
  leak: { text: 'The door seal leaks: pump-down slows and base pressure rises.', strikes: 'chamber', size: 'mTorr/min' },
  'mfc-drift': {
    text: 'A flow controller delivers less and less than it shows.',
    strikes: 'chamber',
    size: '% per day, below 0 too little',
  },
  'match-hunting': { text: 'The match never settles: reflected power swings.', strikes: 'chamber', size: '% of forward power' },
  'pump-wear': { text: 'The pump loses speed day by day.', strikes: 'chamber', size: '% per day' },
  'rf-trip': { text: 'The RF generator trips in the middle of plasma.', strikes: 'chamber', size: null },
  'chattering-switch': {
    text: 'A switch flutters and its alarm chatters.',
    strikes: 'chamber',
    size: '1 for the door, 2 for cooling water',
  },
  'house-gas': { text: 'House nitrogen pressure sags: chambers wait or trip together.', strikes: 'hall', size: '% of pressure left' },
  'cooling-water': {
    text: 'A cooling water loop is lost: its chambers trip together. South, or the loop of --chamber.',
    strikes: 'loop',
    size: '% of flow left',
  },
  'power-dip': { text: 'Mains dip: pumps and RF drop out in the whole hall.', strikes: 'hall', size: 'controllers that restart' },
  'controller-restart': {
    text: 'The controller restarts: its server goes away and comes back.',
    strikes: 'chamber',
    size: '1 when its meters go to zero, else 0',
  },
  'link-drop': { text: "The network to the chamber's server is cut and comes back.", strikes: 'chamber', size: null },
  'half-open-link': {
    text: "The network swallows every packet of the chamber's server and closes nothing.",
    strikes: 'chamber',
    size: null,
  },
  'skip-purge': { text: 'Somebody skips the purge before venting.', strikes: 'chamber', size: 'runs' },
  'operator-abort': { text: 'Somebody stops the run by hand.', strikes: 'chamber', size: null },
  'alarm-burst': { text: 'Many alarms of one chamber within minutes.', strikes: 'chamber', size: 'alarms in five minutes' },
};

const LARGEST = 10_000;

/** Either an order the plant will carry out, or one sentence saying what is wrong and what would be right. */
export type Judged = { readonly order: FaultOrder } | { readonly wrong: string };

export function judgedOrder(wish: unknown, chambers: readonly Pick<SimulatedChamber, 'id'>[]): Judged {
  const { fault, chamber = null, size = null, durationMs = null } = (wish ?? {}) as Record<string, unknown>;
  if (!isFaultName(fault)) return { wrong: `There is no fault "${shown(fault)}". Known faults: ${FAULT_NAMES.join(', ')}.` };
  const { strikes, size: unit } = FAULTS[fault];
  const ids = chambers.map((one) => one.id);
  if (strikes === 'hall' && chamber !== null) return { wrong: `"${fault}" strikes the whole hall: leave --chamber out.` };
  if (strikes === 'chamber' && chamber === null)
    return { wrong: `"${fault}" strikes one chamber: name it with --chamber, such as --chamber ${ids[0]}.` };
  if (chamber !== null && !(ids as unknown[]).includes(chamber)) {
    return { wrong: `There is no chamber "${shown(chamber)}". Chambers: ${ids[0]} to ${ids.at(-1)}.` };
  }
  if (size !== null && unit === null) return { wrong: `"${fault}" has no size: leave --size out.` };
  if (size !== null && !isNumber(size)) return { wrong: `The size of "${fault}" is a number up to ${LARGEST}: ${unit}.` };
  if (durationMs !== null && !(typeof durationMs === 'number' && durationMs > 0))
    return { wrong: 'The duration is a time such as 90s, 20m or 2h.' };
  return { order: { fault, chamber: chamber as string | null, size, durationMs } };
}

/** The list that `fault --list` prints. */
export function faultList(): string {
  const width = Math.max(...FAULT_NAMES.map((name) => name.length));
  return FAULT_NAMES.map((name) => {
    const { text, strikes, size } = FAULTS[name];
    const takes = [strikes === 'chamber' ? '--chamber' : 'whole hall', ...(size === null ? [] : [`--size: ${size}`])].join(', ');
    return `${name.padEnd(width)}  ${text} [${takes}]`;
  }).join('\n');
}

const DURATION_MS: Readonly<Record<string, number>> = { s: 1000, m: 60_000, h: 3_600_000, d: 86_400_000 };

/** '90s', '20m', '2h', '1d' of plant time; null when it is none. */
export function durationMs(text: string): number | null {
  const parts = /^(\d+(?:\.\d+)?)([smhd])$/.exec(text);
  return parts === null ? null : Number(parts[1]) * (DURATION_MS[parts[2] as string] as number);
}

function isFaultName(name: unknown): name is FaultName {
  return (FAULT_NAMES as readonly unknown[]).includes(name);
}

function isNumber(value: unknown): value is number {
  return typeof value === 'number' && Math.abs(value) <= LARGEST;
}

function shown(value: unknown): string {
  return String(value).slice(0, 40);
}
