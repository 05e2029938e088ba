/** The counters and the maintenance intervals of the site file, from the records and what was counted since the last of them. */
import type { ChamberState } from '../src/chamber-state.ts';
import type { CounterTotal, Counters, MaintenanceLine } from '../src/counter-answer.ts';
import { COUNTED, countSince, countSinceWork, type Count, type CountedRun } from '../src/counters.ts';
import type { Draft } from '../src/explanation.ts';
import { type CounterNumber, explainDue, explainTotal, explainUnseen, explainUsed } from '../src/explain-use.ts';
import { dueText, maintenanceDue } from '../src/maintenance-due.ts';
import { countsAt } from '../src/run-counts.ts';
import type { Clock } from './clock.ts';
import type { MaintenanceInterval, Plant } from './plant.ts';
import type { ChamberHistory, RunHistory } from './run-history.ts';

type CounterParts = {
  readonly plant: Plant;
  readonly history: RunHistory;
  readonly clock: Clock;
  readonly state: (chamber: string) => ChamberState;
};

const MOST_METER_EVENTS = 10;

export class CounterAnswers {
  readonly #parts: CounterParts;

  constructor(parts: CounterParts) {
    this.#parts = parts;
  }

  async counters(): Promise<Counters> {
    const { plant, clock } = this.#parts;
    const [totals, maintenance]: [CounterTotal[], MaintenanceLine[]] = [[], []];
    for (const { id } of plant.chambers) {
      const { runs, work } = await this.#counted(id);
      totals.push(...COUNTED.map((counted) => total(id, runs, counted)));
      for (const interval of plant.maintenance) {
        if (interval.chambers === null || interval.chambers.includes(id)) maintenance.push(this.#line(id, runs, { work, interval }));
      }
    }
    return { at: clock.now(), totals, maintenance };
  }

  /** Null for a name that is no counter's or interval's of this chamber. */
  async explained(number: CounterNumber, chamber: string, name: string): Promise<Draft | null> {
    const { runs, work } = await this.#counted(chamber);
    if (number === 'counter') {
      const counted = COUNTED.find((one) => one === name);
      if (name === 'unobserved') return explainUnseen(total(chamber, runs, 'runs').unobservedMs, { chamber, runs, counted: 'runs' });
      return counted === undefined ? null : explainTotal(total(chamber, runs, counted), { chamber, runs, counted });
    }
    const interval = this.#parts.plant.maintenance.find((one) => one.name === name);
    if (interval === undefined || interval.chambers?.includes(chamber) === false) return null;
    const [line, of] = [this.#line(chamber, runs, { work, interval }), { chamber, runs, counted: interval.counted }];
    return number === 'maintenance' ? explainDue(line, of) : explainUsed(line, of);
  }

  /** The runs' counts, and what they have come to since the last of them ended. */
  async #counted(chamber: string): Promise<{ runs: readonly CountedRun[]; work: ChamberHistory['work'] }> {
    const { counted, work } = await this.#parts.history.of(chamber);
    const state = this.#parts.state(chamber);
    const last = counted.at(-1);
    if (last === undefined || state.now <= last.at) return { runs: counted, work };
    return { runs: [...counted, { at: state.now, counts: countsAt(state, state.now), meters: last.meters }], work };
  }

  #line(
    chamber: string,
    runs: readonly CountedRun[],
    { work, interval }: { work: ChamberHistory['work']; interval: MaintenanceInterval },
  ): MaintenanceLine {
    const { name, part, counted, every } = interval;
    const { own, since, isSinceWork, unobservedMs } = countSinceWork(runs, counted, { part, work });
    const due = maintenanceDue({ runs, interval: { counted, every }, used: own, since: isSinceWork ? since : null });
    const days = due.state === 'due' ? { early: due.early, likely: due.likely, late: due.late } : { early: null, likely: null, late: null };
    return {
      ...{ chamber, name, part, counted, every, used: own, since, isSinceWork, unobservedMs, left: every - own, state: due.state, ...days },
      overdueSince: due.state === 'overdue' ? due.since : null,
      due: dueText(due, counted, this.#parts.plant.site.zone),
    };
  }
}

function total(chamber: string, runs: readonly CountedRun[], counted: CounterTotal['counted']): CounterTotal {
  const { own, since, unobservedMs, meter } = countSince(runs, counted, null);
  const { pumpS, rfS, cycles } = runs.at(-1)?.meters ?? { pumpS: null, rfS: null, cycles: null };
  const meterNow = counted === 'runs' ? cycles : counted === 'pump-hours' ? pumpS : rfS;
  return { chamber, counted, own, since, unobservedMs, meter: meterWords(meter), meterNow };
}

const meterWords = (meter: Count['meter']): CounterTotal['meter'] =>
  meter === null ? null : { gained: meter.gained, own: meter.own, isWhole: meter.isWhole, events: meter.events.slice(-MOST_METER_EVENTS) };
