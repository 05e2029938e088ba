/** The alarm journal and the alarm statistics as they are asked for, from committed facts. */
import { alarmStatistics } from '../src/alarm-statistics.ts';
import type { Tells } from '../src/alarm-journal.ts';
import type { Calendar, Span } from '../src/calendar.ts';
import { nonscheduled } from '../src/calendar.ts';
import type { ChamberState } from '../src/chamber-state.ts';
import { Fault } from '../src/fault.ts';
import { stateIntervals } from '../src/interval.ts';
import { alarmJournal } from './alarm-journal.ts';
import { askedWindow } from './asked-window.ts';
import type { Books } from './books.ts';
import type { Clock } from './clock.ts';
import type { AlarmAnswers, JournalSearch, Scope } from './http/answers-port.ts';
import type { Plant } from './plant.ts';
import { firstRows } from './portions.ts';
import type { EventStore } from './store/store.ts';

type AlarmParts = {
  readonly plant: Plant;
  readonly store: EventStore;
  readonly books: Books;
  readonly clock: Clock;
  /** The committed state of a chamber. */
  readonly state: (chamber: string) => ChamberState;
};

export function alarmAnswers({ plant, store, books, clock, state }: AlarmParts): AlarmAnswers {
  const windowOf = ({ window }: Scope): Span => askedWindow(window, plant.calendar, clock.now());
  const chambersOf = (scope: Scope): readonly string[] =>
    scope.chamber === null ? plant.during(windowOf(scope)) : [plant.chamber(scope.chamber).id];
  const tells = (alarm: { readonly chamber: string; readonly code: string }): Tells => {
    const { alarms } = state(alarm.chamber);
    const stand = Object.hasOwn(alarms, alarm.code) ? alarms[alarm.code] : undefined;
    const isTold = (answer: boolean | null | undefined): boolean => typeof answer === 'boolean';
    return { acknowledged: isTold(stand?.acknowledged), confirmed: isTold(stand?.confirmed), latched: stand?.latched === true };
  };
  const journal = ({ window, chamber, position, ...search }: JournalSearch) =>
    alarmJournal(store, {
      ...search,
      window: windowOf({ window, chamber }),
      chambers: chambersAt(plant, chambersOf({ window, chamber }), position),
      now: clock.now(),
      tells,
    });
  return {
    alarms: async ({ limit, ...search }) => firstRows(journal(search), limit),
    allAlarms: journal,
    alarmStatistics: async (scope) => {
      const [window, chambers] = [windowOf(scope), chambersOf(scope)];
      const subjects = (await books.facts(window, chambers)).map((facts) => ({
        facts,
        intervals: stateIntervals(facts, window, free(plant.calendar, window)),
      }));
      return alarmStatistics(subjects, scope.chamber === null ? plant.positions : null, window);
    },
  };
}

function chambersAt({ positions }: Plant, chambers: readonly string[], position: string | undefined): readonly string[] {
  if (position === undefined) return chambers;
  const own = positions.find(({ name }) => name === position);
  if (own === undefined) throw new Fault('not-found', 'The site has no operator position of that name. /api/alarm-statistics lists them.');
  return chambers.filter((chamber) => own.chambers.includes(chamber));
}

const free = (calendar: Calendar, { from, to }: Span): readonly Span[] => nonscheduled(calendar, from, to);
