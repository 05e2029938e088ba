import { readFileSync } from 'node:fs';
import { beforeEach, describe, expect, it } from 'vitest';
import { parseSite } from '../../gateway/config.ts';
import { FleetView } from '../../gateway/fleet-view.ts';
import { plantOf } from '../../gateway/plant.ts';
import { ReasonBook } from '../../gateway/reason-book.ts';
import { memoryStore } from '../../gateway/store/memory.ts';
import type { Store } from '../../gateway/store/store.ts';
import { initialChamber, observe, type ChamberState } from '../../src/chamber.ts';
import { changes, fleet, liveValues, type Fleet } from '../../src/contract.ts';
import type { ChamberEvent } from '../../src/event.ts';
import type { Reading } from '../../src/reading.ts';
import { randomHistory } from '../src/random-history.ts';
import { exampleAlert, exampleServer } from './wire-examples.ts';

const FILE = 'gateway/simulator/quellmoor.yaml';
const plant = plantOf(parseSite(FILE, readFileSync(FILE, 'utf8')));
const DAY = 86_400_000;
/** Wednesday 08:00 in Berlin, two hours into the early shift. */
const NOW = Date.UTC(2026, 10, 25, 7);

let clock: { at: number; steady: number; now(): number; steadyMs(): number; speed: number };
let states: Map<string, ChamberState>;
let store: Store;
let view: FleetView;
let reasons: ReasonBook;
let latest: Map<string, Reading>;

/** Real and plant time pass alike. */
function pass(ms: number): void {
  clock.at += ms;
  clock.steady += ms;
}

beforeEach(async () => {
  clock = { at: NOW, steady: 5_000, now: () => clock.at, steadyMs: () => clock.steady, speed: 1 };
  states = new Map(plant.chambers.map(({ id, rules }) => [id, initialChamber(rules)]));
  for (const id of plant.ids) await hear(id, 'link.alive', true);
  store = memoryStore();
  latest = new Map();
  view = await started();
});

async function started(before: (made: FleetView) => void = () => undefined): Promise<FleetView> {
  reasons = new ReasonBook({ store, onFatal: (error) => expect.unreachable(String(error)) });
  await reasons.start();
  const made = new FleetView({
    plant,
    store,
    clock,
    reasons,
    boot: 'boot-1',
    state: (id) => states.get(id) as ChamberState,
    servers: () => [exampleServer({ server: 'amber', skewMs: 40 })],
    latest: () => latest,
    onFatal: (error) => expect.unreachable(String(error)),
  });
  before(made);
  await made.start();
  return made;
}

/** The pipeline's part: reduce, append, then tell. */
async function hear(id: string, signal: Reading['signal'], value: Reading['value']): Promise<ChamberEvent[]> {
  const { rules } = plant.chamber(id);
  const step = observe(rules, states.get(id) as ChamberState, {
    chamber: id,
    signal,
    value,
    quality: 'good',
    at: clock.at,
    timeOrigin: 'source',
    receivedAt: clock.at,
  });
  states.set(id, step.state);
  return [...step.events];
}
async function commit(id: string, signal: Reading['signal'], value: Reading['value']): Promise<void> {
  const stored = await store.append({ events: await hear(id, signal, value), snapshots: new Map() });
  view.committed({ stored, chambers: [id], alerts: [] });
}
const tile = (whole: Fleet, id: string) => whole.chambers.find((one) => one.chamber === id);

describe('the fleet view', () => {
  it('shows every chamber in the order of the site, in its schema', () => {
    const whole = view.fleet();
    expect(fleet.parse(whole).chambers.map((one) => one.chamber)).toEqual(plant.ids);
    expect(tile(whole, 'PC-01')).toMatchObject({ name: 'PC-01', bay: 'Amber', skewMs: 40, link: 'live', heardAt: NOW });
  });

  it('does not show a state before it is told as committed', async () => {
    const before = view.rev;
    const events = await hear('PC-01', 'alarm.RF_FAULT', true);
    expect(tile(view.fleet(), 'PC-01')?.alarms.standing).toBe(0);
    view.committed({ stored: await store.append({ events, snapshots: new Map() }), chambers: ['PC-01'], alerts: [] });
    expect(tile(view.fleet(), 'PC-01')?.alarms.standing).toBe(1);
    expect(view.rev).toBeGreaterThan(before);
    expect(view.fleet().seq).toBe((await store.extent())?.seq);
  });

  it('since a revision, only what changed after it', async () => {
    const { rev } = view.fleet();
    await commit('PC-03', 'alarm.RF_FAULT', true);
    const difference = changes.parse(view.since(rev));
    expect(difference.chambers.map((one) => one.chamber)).toEqual(['PC-03']);
    expect(changes.parse(view.since(difference.rev))).toMatchObject({ chambers: [], strip: null, rev: difference.rev });
    expect(view.since(difference.rev + 1)).toBeNull();
    expect(view.since(-1)).toBeNull();
  });

  it('what is committed while it starts is shown as it was committed', async () => {
    const alert = exampleAlert({ id: 'a', state: 'open' });
    const made = await started((view) => {
      const alerts = store.alerts.bind(store);
      store.alerts = async (filter) => {
        const found = [alert, ...(await alerts(filter))];
        view.committed({ stored: [], chambers: [], alerts: [{ ...alert, state: 'closed', closedAt: NOW }] });
        return found;
      };
    });
    expect(made.fleet().strip.openAlerts).toBe(0);
  });

  it('a shift that ended while nobody looked is let go of with the next commit', async () => {
    const asked: number[] = [];
    const events = store.events.bind(store);
    store.events = (query) => (asked.push(query.from ?? 0), events(query));
    await commit('PC-03', 'alarm.RF_FAULT', true);
    expect(asked).toEqual([]);
    pass(DAY / 3);
    await commit('PC-03', 'alarm.RF_FAULT', false);
    expect(Math.max(...asked)).toBeGreaterThan(NOW);
  });

  // Incremental = from scratch: a page that applied every difference shows what a page sees that came last.
  it('differences add up to the whole', async () => {
    const seen = structuredClone(view.fleet());
    for (let n = 0; n < 60; n++) {
      pass(700);
      const id = plant.ids[(n * 7) % 12] as string;
      await commit(
        id,
        n % 3 === 0 ? 'alarm.RF_FAULT' : n % 3 === 1 ? 'chamber.pressure' : 'link.alive',
        n % 3 === 0 ? n % 2 === 0 : n % 3 === 1 ? 100 + n : true,
      );
      const difference = view.since(seen.rev);
      if (difference === null) throw new Error('the difference must be known');
      for (const one of difference.chambers) seen.chambers[plant.ids.indexOf(one.chamber)] = one;
      if (difference.strip !== null) seen.strip = difference.strip;
      seen.rev = difference.rev;
      const whole = view.fleet();
      expect(seen.chambers).toEqual(whole.chambers);
      expect(seen.strip).toEqual(whole.strip);
    }
    expect(seen.rev).toBeGreaterThan(10);
  });

  it('time alone changes nothing that the screens count themselves', () => {
    const before = view.rev;
    for (let n = 0; n < 12; n++) {
      pass(1_000);
      expect(view.rev).toBe(before);
    }
  });

  it('a chamber nobody hears any more falls silent by time alone', () => {
    view.fleet();
    pass(16_000);
    const whole = view.fleet();
    expect(whole.chambers.map((one) => one.link)).toEqual(plant.ids.map(() => 'silent'));
    expect(whole.strip.counts.unobserved).toBe(12);
    expect(tile(whole, 'PC-01')?.heardAt).toBe(NOW);
  });

  it('a value that turns nothing costs no revision until its age can be seen', async () => {
    await commit('PC-01', 'chamber.pressure', 100);
    const before = view.rev;
    pass(400);
    await commit('PC-01', 'chamber.pressure', 101);
    expect(view.rev).toBe(before);
    pass(3_000);
    await commit('PC-01', 'chamber.pressure', 102);
    expect(view.rev).toBe(before + 1);
    expect(tile(view.fleet(), 'PC-01')?.heardAt).toBe(clock.at);
  });

  it('the strip counts open alerts, also those from before the start', async () => {
    await store.append({ events: [], snapshots: new Map(), alerts: [exampleAlert({ id: 'old' })] });
    view = await started();
    expect(view.fleet().strip.openAlerts).toBe(1);
    view.committed({ stored: [], chambers: [], alerts: [exampleAlert({ id: 'new' })] });
    expect(view.fleet().strip.openAlerts).toBe(2);
    view.committed({ stored: [], chambers: [], alerts: [exampleAlert({ id: 'old', state: 'closed' })] });
    expect(view.fleet().strip.openAlerts).toBe(1);
  });

  it('the strip sets the running shift beside earlier ones of its name', async () => {
    await store.append({ events: randomHistory({ from: NOW - 20 * DAY, to: NOW, seed: 9 }), snapshots: new Map() });
    view = await started();
    const { shift } = view.fleet().strip;
    expect(shift).toMatchObject({ name: 'Early', from: Date.UTC(2026, 10, 25, 5), usual: { shifts: expect.any(Number) } });
    // Not all ten: some were seen too little to be compared with.
    expect(shift?.usual?.shifts).toBeGreaterThan(0);
    expect(shift?.loads).toBeGreaterThan(0);
    expect(shift?.utilization.coverage).toBeGreaterThan(0.8);
  });

  it('values are the last of each signal, bad ones null, alarms left out', () => {
    const reading = (signal: Reading['signal'], value: Reading['value'], quality: Reading['quality'] = 'good'): [string, Reading] => [
      signal,
      { chamber: 'PC-01', signal, value, quality, at: NOW, timeOrigin: 'source', receivedAt: NOW },
    ];
    latest = new Map([
      reading('chamber.pressure', 12.5),
      reading('rf.forward', null, 'bad'),
      reading('alarm.RF_FAULT', true),
      reading('pump.running', true),
    ]);
    expect(liveValues.parse(view.values('PC-01')).values.map(({ signal, value }) => [signal, value])).toEqual([
      ['chamber.pressure', 12.5],
      ['rf.forward', null],
      ['pump.running', true],
    ]);
    expect(view.values('PC-99')).toBeNull();
  });
});
