/** Answers of fixed examples, for tests of the routes alone. */
import type { Answers } from '../../../gateway/http/answers-port.ts';
import type { InboxAlert } from '../../../src/alert-inbox.ts';
import { Fault } from '../../../src/fault.ts';
import { DEFAULT_REASONS } from '../../../src/reason-list.ts';
import * as example from '../wire-examples.ts';

export function doubleAnswers(change: Partial<Answers> = {}): Answers & { readonly asked: unknown[] } {
  const asked: unknown[] = [];
  const note = <T>(query: unknown, answer: T): Promise<T> => {
    asked.push(query);
    return Promise.resolve(answer);
  };
  async function* portion<T>(query: unknown, rows: readonly T[]): AsyncGenerator<readonly T[]> {
    yield await note(query, rows);
  }
  const known = (id: string, one: string) => {
    if (id !== one) throw new Fault('not-found', `There is no ${id}.`);
  };
  /** An act of that alert alone. */
  const acted =
    (what: (id: string, by: string, text?: string) => readonly [query: unknown, change: Partial<InboxAlert>]) =>
    async (id: string, by: string, text?: string): Promise<InboxAlert> => {
      known(id, example.exampleAlert().id);
      const [query, change] = what(id, by, text);
      return note(query, example.exampleInboxAlert(change));
    };
  return {
    asked,
    fleet: () => example.exampleFleet(),
    servers: () => [example.exampleServer()],
    health: () => ({ ready: true, problems: [] }),
    site: () => ({
      file: 'site.yaml',
      chambers: 1,
      servers: 1,
      faults: null,
      takings: [{ at: example.T0, by: 'the file', changes: [{ kind: 'added', what: 'chamber PC-02', text: 'Chamber PC-02 was added.' }] }],
      former: [],
    }),
    reloadSite: (by) => note({ by }, { changes: [], links: { kept: [], renewed: [], begun: [], ended: [] } }),
    chamber: async (id) => (known(id, 'PC-01'), example.exampleDetail()),
    trace: (q) =>
      note(q, { chamber: q.chamber, from: q.from, to: q.to, signals: [{ signal: 'chamber.pressure', at: [example.T0], value: [null] }] }),
    runs: (q) => note(q, [example.exampleRun()]),
    allRuns: (q) => portion(q, [example.exampleRecorded()]),
    runRecord: async (id) => (known(id, example.exampleRun().run), example.exampleRunRecord()),
    run: async (id) => (known(id, example.exampleRun().run), example.exampleRun()),
    intervals: (q) => note(q, [example.exampleInterval()]),
    numbers: (q) => note(q, [example.exampleNumbers()]),
    alarms: (q) => note(q, [example.exampleAlarm()]),
    allAlarms: (q) => portion(q, [example.exampleAlarm()]),
    acknowledgeAlarm: async (act) => (known(act.chamber, 'PC-01'), note(act, { text: 'RF_FAULT is acknowledged at the chamber.' })),
    alarmStatistics: (q) => note(q, { from: 0, to: 1, positions: [], chambers: [] }),
    losses: (q) => note(q, [example.exampleLoss()]),
    events: (q) =>
      note(q, [{ kind: 'run-started', chamber: 'PC-01', at: example.T0, run: 'PC-01/x', recipe: null, load: null, source: 'tag', seq: 1 }]),
    weeks: () => note('weeks', [{ week: '2026-W48', from: example.T0, to: example.T0 + 1, hours: 168, complete: false }]),
    week: (week) => note(week, example.exampleWeek(week)),
    explain: (q) => note(q, example.exampleExplanation(q.number)),
    alerts: (q) => note(q, [example.exampleInboxAlert()]),
    alert: async (id) => (known(id, example.exampleAlert().id), example.exampleInboxAlert()),
    evidence: async (id) => (known(id, example.exampleAlert().id), example.exampleEvidence()),
    acknowledge: acted((id, by) => [
      { id, by },
      { acknowledgedAt: example.T0, acknowledgedBy: by },
    ]),
    take: acted((id, by, from) => [
      { id, by, from },
      { takenAt: example.T0, takenBy: by },
    ]),
    giveBack: acted((id, by) => [{ id, by }, {}]),
    comment: acted((id, by, text) => [{ id, by, text }, {}]),
    mutes: (q) => note(q, [example.exampleMute()]),
    mute: ({ by, ...draft }) => note({ by, ...draft }, example.exampleMute({ who: by })),
    unmute: async (id, by) => (known(String(id), '3'), note({ id, by }, example.exampleMute({ endedAt: example.T0, endedBy: by }))),
    routes: () => [example.exampleRoute()],
    deliveries: (q) => note(q, [{ ...example.exampleDelivery(), headline: 'PC-06: 14 alarms' }]),
    testRoute: async (route, by) => (known(route, 'hook'), note({ route, by }, example.exampleDelivery({ stage: 'test' }))),
    resend: async (id, by) => (known(id, example.exampleDelivery().id), note({ id, by }, example.exampleDelivery())),
    resendAll: async (route, by) => (known(route, 'hook'), note({ route, by }, 7)),
    setAllAside: async (route, by) => (known(route, 'hook'), note({ route, by }, 7)),
    setAside: async (id, by) => (known(id, example.exampleDelivery().id), note({ id, by }, example.exampleDelivery({ state: 'spared' }))),
    reasonList: () => DEFAULT_REASONS,
    reasons: (q) => note(q, [example.exampleReason()]),
    enterReason: (draft) => note(draft, example.exampleReason()),
    withdrawReason: async (entry, by) => {
      known(entry, example.exampleReason().entry);
      return note({ entry, by }, example.exampleReason({ withdrawnAt: example.T0, withdrawnBy: by }));
    },
    drift: () => note('drift', example.exampleDrift()),
    driftVerdicts: () => note('drift', [{ chamber: 'PC-01', cell: example.exampleDriftCell(), symbol: 's', gain: 1 }]),
    chamberDrift: async (q) => (known(q.chamber, 'PC-01'), note(q, example.exampleChamberDrift())),
    counters: () => note('counters', example.exampleCounters()),
    stops: (q) => note(q, example.exampleStops()),
    weekPaper: (week) => note(week, Buffer.from('%PDF-1.7 week')),
    runPaper: async (id) => (known(id, example.exampleRun().run), Buffer.from('%PDF-1.7 run')),
    weekMail: (week) => note(week, { letters: [example.exampleLetter(week)], revised: [] }),
    ...change,
  };
}
