/**
 * Answers about alarms for the double of the gateway, by the product's own rules over made-up facts of eight days: a flood two hours ago, a match
 * that hunts at PC-06, a door switch that comes again slowly, one alarm that stands, one that is shelved, notices, and PC-04 not heard of late.
 */
import { alarmJournal } from '../../gateway/alarm-journal.ts';
import { firstRows } from '../../gateway/portions.ts';
import { memoryStore } from '../../gateway/store/memory.ts';
import type { AlarmStatistics, JournalRow } from '../../src/alarm-answer.ts';
import { alarmStatistics } from '../../src/alarm-statistics.ts';
import type { AlarmEvent, ChamberEvent } from '../../src/event.ts';
import { fleetFacts } from '../../src/facts.ts';
import { stateIntervals } from '../../src/interval.ts';

const [SECOND, MINUTE, HOUR, DAY] = [1000, 60_000, 3_600_000, 86_400_000];
const DAYS = 8;
const TEXTS = {
  RF_REFL_HIGH: ['Reflected power high', 'medium'],
  DOOR_NOT_CLOSED: ['Door not closed', 'medium'],
  WATER_FLOW_LOW: ['Cooling water flow low', 'high'],
  RF_FAULT: ['RF generator fault', 'high'],
  GAS_SUPPLY_PRESSURE_LOW: ['Gas supply low', 'low'],
  WAITING_FOR_UNLOAD: ['Finished, waiting for unload', 'low'],
  PUMP_OIL_TEMP_HIGH: ['Pump hot', 'medium'],
} as const;
type Code = keyof typeof TEXTS;

function alarm(chamber: string, code: Code, at: number, part: Partial<AlarmEvent> = {}): AlarmEvent {
  const [text, priority] = TEXTS[code];
  const notice = code === 'WAITING_FOR_UNLOAD';
  return { kind: 'alarm', chamber, at, code, text, priority, notice, change: 'activated', counted: true, suppressed: false, ...part };
}
const stood = (one: AlarmEvent, ms: number): AlarmEvent[] => [one, { ...one, at: one.at + ms, change: 'cleared' }];

/** The same facts for all questions of an hour. */
function factsOf(chambers: readonly string[], asked: number): ChamberEvent[] {
  const now = asked - (asked % HOUR);
  const state = (chamber: string, at: number, name: 'standby' | 'unobserved'): ChamberEvent => ({
    ...{ kind: 'equipment-state', chamber, at, state: name, reason: name === 'standby' ? 'idle' : 'no data', source: 'signal', run: null },
  });
  const codes = (Object.keys(TEXTS) as Code[]).filter((code) => code !== 'PUMP_OIL_TEMP_HIGH');
  const daily = chambers.flatMap((chamber, i) =>
    Array.from({ length: DAYS * 3 }, (_, n) =>
      stood(alarm(chamber, codes[(i + n) % codes.length] as Code, now - DAYS * DAY + n * 8 * HOUR + i * 17 * MINUTE), (20 + i) * SECOND),
    ).flat(),
  );
  const hunting = Array.from({ length: 40 }, (_, n) =>
    stood(alarm('PC-06', 'RF_REFL_HIGH', now - 20 * HOUR + n * 12 * SECOND), 3 * SECOND),
  ).flat();
  const switched = Array.from({ length: 15 }, (_, n) =>
    stood(alarm('PC-03', 'DOOR_NOT_CLOSED', now - 30 * HOUR + n * 110 * SECOND), 2 * SECOND),
  ).flat();
  const flood = chambers.flatMap((chamber, i) => [
    ...stood(alarm(chamber, 'WATER_FLOW_LOW', now - 2 * HOUR + i * 4 * SECOND), 8 * MINUTE),
    ...stood(alarm(chamber, 'RF_FAULT', now - 2 * HOUR + 20 * SECOND + i * 5 * SECOND), 9 * MINUTE),
  ]);
  const states = chambers.map((chamber) => state(chamber, now - (DAYS + 1) * DAY, 'standby'));
  return [
    ...states,
    ...(chambers.includes('PC-04') ? [state('PC-04', now - 3 * HOUR, 'unobserved')] : []),
    ...[...daily, ...hunting, ...switched, ...flood].filter(({ chamber, at }) => chambers.includes(chamber) && at < now),
    alarm('PC-01', 'PUMP_OIL_TEMP_HIGH', now - 26 * HOUR),
    ...stood(alarm('PC-02', 'DOOR_NOT_CLOSED', now - 90 * MINUTE, { suppressed: true, suppressedAs: ['shelved'] }), 40 * MINUTE),
  ].sort((a, b) => a.at - b.at);
}

const windowOf = (query: URLSearchParams, now: number): { from: number; to: number } => {
  const name = query.get('window');
  const back = name === 'shift' ? 5 * HOUR : name === 'week' ? 3 * DAY : 10 * HOUR;
  return name === null ? { from: Number(query.get('from')), to: Math.min(now, Number(query.get('to'))) } : { from: now - back, to: now };
};

export function alarmStatisticsOf(chambers: readonly string[], query: URLSearchParams, now: number): AlarmStatistics {
  const window = windowOf(query, now);
  const events = factsOf(chambers, now).map((event, seq) => ({ ...event, seq }));
  const facts = fleetFacts({ chambers, events, heardUntil: Object.fromEntries(chambers.map((chamber) => [chamber, now])) });
  const subjects = facts.map((one) => ({ facts: one, intervals: stateIntervals(one, window, []) }));
  const half = Math.ceil(chambers.length / 2);
  const positions = [
    { name: 'west bay', chambers: chambers.slice(0, half) },
    { name: 'drill bay', chambers: chambers.slice(half) },
  ];
  return alarmStatistics(subjects, positions, window);
}

/** A page of rows, and one more where there are more. */
export async function journalOf(chambers: readonly string[], query: URLSearchParams, now: number): Promise<readonly JournalRow[]> {
  const store = memoryStore();
  await store.append({ events: factsOf(chambers, now), snapshots: new Map() });
  const field = (name: string): string | undefined => query.get(name) ?? undefined;
  const [at, seq] = (query.get('after') ?? '').split('.').map(Number);
  const chamber = query.get('chamber');
  const rows = alarmJournal(store, {
    ...{ window: windowOf(query, now), chambers: chamber === null ? chambers : [chamber], now },
    ...{ words: field('words'), priority: field('priority') as never, state: field('state') as never, show: field('show') as never },
    ...(at !== undefined && seq !== undefined ? { after: { at, seq } } : {}),
    tells: () => ({ acknowledged: false, confirmed: false, latched: false }),
  });
  return firstRows(rows, Number(query.get('limit') ?? 500) + 1);
}
