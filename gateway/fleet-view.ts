/**
 * The fleet as screens see it now, of committed states only, with a revision that grows when something visible changed.
 * Looking makes it fresh: what a commit touched is recomputed at the next look, the rest once a second. Nobody looking costs nothing.
 */
import { nonscheduled } from '../src/calendar.ts';
import type { ChamberState } from '../src/chamber-state.ts';
import type { Alert, Changes, ChamberTile, Fleet, FleetStrip, LiveValues, ServerLine } from '../src/contract.ts';
import type { StoredEvent } from '../src/event.ts';
import { type EarlierShift, fleetStrip } from '../src/fleet-strip.ts';
import type { Reading } from '../src/reading.ts';
import { chamberTile } from '../src/tile.ts';
import { Books } from './books.ts';
import type { Clock } from './clock.ts';
import type { Plant, PlantChamber } from './plant.ts';
import type { ReasonBook } from './reason-book.ts';
import type { Store } from './store/store.ts';
import { StripFacts } from './strip-facts.ts';
import { stripFace, tileFace } from './tile-change.ts';

export type FleetViewParts = {
  readonly plant: Plant;
  readonly store: Store;
  readonly clock: Clock;
  readonly reasons: ReasonBook;
  /** New with every start of the process. */
  readonly boot: string;
  /** The committed state of a chamber. */
  readonly state: (chamber: string) => ChamberState;
  readonly servers: () => readonly ServerLine[];
  /** The last reading of each signal of a chamber. */
  readonly latest: (chamber: string) => ReadonlyMap<string, Reading>;
  readonly onFatal: (error: unknown) => void;
};

/** What a turn committed. */
export type News = { readonly stored: readonly StoredEvent[]; readonly chambers: readonly string[]; readonly alerts: readonly Alert[] };

const EVERY_MS = 1_000;
/** Without a word for this long (real time) a chamber is silent whatever its link says. */
const SILENT_MS = 15_000;

type Kept<T> = { readonly value: T; readonly face: string; readonly rev: number };

export class FleetView {
  readonly boot: string;
  readonly #parts: FleetViewParts;
  readonly #strips: StripFacts;
  readonly #tiles = new Map<string, Kept<ChamberTile>>();
  readonly #dirty = new Set<string>();
  readonly #openAlerts = new Set<string>();
  /** Alerts that were told while the store was read for the first time: what was told is newer. */
  readonly #toldAlerts = new Set<string>();
  #isStarted = false;
  #strip: Kept<FleetStrip> | null = null;
  #stripDirty = true;
  #rev = 0;
  #seq = 0;
  #wholeSince = 0;
  #lookedAt = -Infinity;

  constructor(parts: FleetViewParts) {
    this.#parts = parts;
    this.boot = parts.boot;
    const { plant, store, clock, reasons, state } = parts;
    this.#strips = new StripFacts({ plant, store, clock, reasons, books: new Books({ store, clock, plant, reasons, state }) });
  }

  /** To be called when the pipeline has its states back and before anybody looks; what is committed meanwhile is to be told already. */
  async start(): Promise<void> {
    const { store } = this.#parts;
    this.#seq = Math.max(this.#seq, (await store.extent())?.seq ?? 0);
    for (const { id } of await store.alerts({ state: 'open' })) if (!this.#toldAlerts.has(id)) this.#openAlerts.add(id);
    this.#isStarted = true;
    this.#toldAlerts.clear();
    await this.#strips.load();
  }

  /** The site file changed: whoever saw an earlier revision gets the whole, because chambers may have come, gone or changed places. */
  async renew(): Promise<void> {
    const { plant } = this.#parts;
    for (const chamber of this.#tiles.keys()) if (!plant.ids.includes(chamber)) this.#tiles.delete(chamber);
    this.#strip = null;
    this.#rev += 1;
    this.#wholeSince = this.#rev;
    this.#lookedAt = -Infinity;
    await this.#strips.renew();
    this.#stripDirty = true;
  }

  committed({ stored, chambers, alerts }: News): void {
    for (const chamber of chambers) this.#dirty.add(chamber);
    for (const alert of alerts) {
      if (!this.#isStarted) this.#toldAlerts.add(alert.id);
      if (alert.state === 'open') this.#openAlerts.add(alert.id);
      else this.#openAlerts.delete(alert.id);
    }
    // Shift numbers and alarm counts can wait for the next second; an alert is told at once.
    if (alerts.length > 0) this.#stripDirty = true;
    this.#seq = Math.max(this.#seq, stored.at(-1)?.seq ?? 0);
    this.#strips.note(stored);
    if (this.#strips.isPast()) this.#loadStrips();
  }

  /** Those that the running shift is compared with. */
  earlierShifts(): readonly EarlierShift[] {
    return this.#strips.earlier;
  }

  get rev(): number {
    this.#look();
    return this.#rev;
  }

  fleet(): Fleet {
    this.#look();
    const { clock, plant } = this.#parts;
    const chambers = plant.ids.flatMap((id) => this.#tiles.get(id)?.value ?? []);
    const strip = (this.#strip as Kept<FleetStrip>).value;
    return { boot: this.boot, rev: this.#rev, seq: this.#seq, now: clock.now(), speed: clock.speed, site: plant.site, chambers, strip };
  }

  since(rev: number): Changes | null {
    this.#look();
    if (rev < this.#wholeSince || rev > this.#rev) return null;
    const chambers = [...this.#tiles.values()].filter((tile) => tile.rev > rev).map((tile) => tile.value);
    const strip = this.#strip !== null && this.#strip.rev > rev ? this.#strip.value : null;
    return { boot: this.boot, rev: this.#rev, seq: this.#seq, now: this.#parts.clock.now(), chambers, strip };
  }

  values(chamber: string): LiveValues | null {
    if (!this.#parts.plant.ids.includes(chamber)) return null;
    const readings = [...this.#parts.latest(chamber).values()].filter((reading) => !reading.signal.startsWith('alarm'));
    const values = readings.map(({ signal, at, value, quality }) => ({ signal, at, value: quality === 'bad' ? null : value }));
    return { chamber, now: this.#parts.clock.now(), values };
  }

  #look(): void {
    const steady = this.#parts.clock.steadyMs();
    const isTime = steady - this.#lookedAt >= EVERY_MS;
    if (!isTime && this.#dirty.size === 0 && !this.#stripDirty) return;
    const { plant, clock } = this.#parts;
    const now = clock.now();
    const scheduledNow = nonscheduled(plant.calendar, now, now + 1).length === 0;
    const servers = new Map(this.#parts.servers().map((server) => [server.server, server]));
    const next = this.#rev + 1;
    let changed = false;
    for (const chamber of plant.chambers) {
      if (!isTime && !this.#dirty.has(chamber.id)) continue;
      const tile = this.#tile(chamber, { now, scheduledNow, server: servers.get(chamber.server) });
      changed = keep(this.#tiles, chamber.id, { value: tile, face: tileFace(tile, clock.speed), rev: next }) || changed;
    }
    this.#dirty.clear();
    if (isTime || this.#stripDirty) changed = this.#lookAtStrip(now, next) || changed;
    if (changed) this.#rev = next;
    if (isTime) this.#lookedAt = steady;
    if (isTime && this.#strips.isDue()) this.#loadStrips();
  }

  #loadStrips(): void {
    this.#strips.load().then(() => (this.#stripDirty = true), this.#parts.onFatal);
  }

  #tile(chamber: PlantChamber, at: { now: number; scheduledNow: boolean; server: ServerLine | undefined }): ChamberTile {
    const state = this.#parts.state(chamber.id);
    return chamberTile({
      rules: chamber.rules,
      state,
      place: chamber.place,
      scheduledNow: at.scheduledNow,
      now: at.now,
      told: this.#parts.reasons.holding(chamber.id, at.now),
      link: this.#link(state, at.now),
      skewMs: at.server?.skewMs ?? null,
    });
  }

  #link({ presence, now: heard }: ChamberState, now: number): ChamberTile['link'] {
    if (presence.word === 'never') return 'never';
    const isSilent = presence.word === 'lost' || presence.silent || now - heard > SILENT_MS * this.#parts.clock.speed;
    return isSilent ? 'silent' : 'live';
  }

  #lookAtStrip(now: number, rev: number): boolean {
    this.#stripDirty = false;
    const { plant, clock } = this.#parts;
    const tiles = plant.ids.flatMap((id) => this.#tiles.get(id)?.value ?? []);
    const { usual } = this.#strips;
    const value = fleetStrip({
      tiles,
      facts: this.#strips.facts(),
      calendar: plant.calendar,
      now,
      openAlerts: this.#openAlerts.size,
      usual,
    });
    const face = stripFace(value, clock.speed);
    if (this.#strip?.face === face) return false;
    this.#strip = { value, face, rev };
    return true;
  }
}

/** True when the face is another one than before; a tile that looks the same keeps its revision. */
function keep(tiles: Map<string, Kept<ChamberTile>>, chamber: string, next: Kept<ChamberTile>): boolean {
  if (tiles.get(chamber)?.face === next.face) return false;
  tiles.set(chamber, next);
  return true;
}
