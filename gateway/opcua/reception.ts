/**
 * What reaches us from one server, whichever session brings it: every message is a word that renews presence, its values and conditions go to
 * the outbox, clocks are measured while the word is fresh, and what was lost is a hole.
 */
import type { TagNode, TagTarget } from '../../src/tag-map.ts';
import { onTime } from './archive.ts';
import { Conditions } from './conditions.ts';
import { EventTime } from './event-time.ts';
import { Intake, overflowed } from './intake.ts';
import type { TagValue } from './intake.ts';
import type { EventFields, Line } from './line.ts';
import type { Outbox } from './outbox.ts';
import { Presence } from './presence.ts';
import type { Measures } from './standing.ts';
import { FROM_RECEIPT, GOOD, packTag } from './wire.ts';

/** After a repair, stamps of late values say nothing about clocks. */
const UNSETTLED_MS = 2000;
const QUIET_MS = 500;

export type ChildClock = {
  readonly now: () => number;
  readonly steadyMs: () => number;
  readonly realNow: () => number;
  readonly speed: number;
};

export type ReceptionParts = {
  readonly nodes: readonly TagNode[];
  readonly presenceNode: TagNode;
  readonly clock: ChildClock;
  readonly outbox: Outbox;
  readonly toleranceMs: number;
  /** Alarms of this server may be acknowledged from here. */
  readonly acknowledges: boolean;
};

export class Reception {
  readonly presence: Presence;
  readonly conditions: Conditions;
  readonly #parts: ReceptionParts;
  readonly #clocks: ReadonlyMap<string, EventTime>;
  readonly #intake: Intake;
  #settledAt = 0;
  #heardAt = new Map<Line, number>();

  constructor(parts: ReceptionParts) {
    this.#parts = parts;
    const { nodes, presenceNode, clock, outbox, toleranceMs } = parts;
    const presence = new Map<string, TagTarget>(presenceNode.targets.map((target) => [target.chamber, target]));
    this.#clocks = new Map([...presence.keys()].map((chamber) => [chamber, new EventTime(toleranceMs, clock.speed)]));
    this.presence = new Presence((alive, at) => this.#tellPresence(alive, at));
    this.#intake = new Intake({ nodes, clocks: this.#clocks, outbox, presence });
    this.conditions = new Conditions(
      nodes.filter(({ kind }) => kind === 'condition'),
      (node, word, stamps) => this.#intake.condition(node, word, stamps, clock.now()),
      parts.acknowledges,
    );
  }

  opened(line: Line): void {
    for (const each of this.#clocks.values()) each.unsure();
    const steadyMs = this.#parts.clock.steadyMs();
    this.#heardAt.set(line, steadyMs);
    this.presence.expect(line.name, line.keepAliveMs, steadyMs);
    this.#unsettle();
  }

  recreated(line: Line): void {
    for (const each of this.#clocks.values()) each.unsure();
    this.#unsettle();
    this.presence.lose(line.name);
  }

  message(line: Line, values: readonly TagValue[], events: readonly EventFields[]): void {
    const { clock } = this.#parts;
    if (this.presence.alive === false) {
      this.#unsettle();
      if (overflowed(values)) this.presence.lose(line.name);
    }
    this.presence.beginMessage();
    const fresh = this.#isFresh(line);
    this.#heardAt.set(line, clock.steadyMs());
    if (values.length > 0) this.#intake.message(values, clock.now(), fresh);
    for (const event of events) this.conditions.event(event, clock.now());
    this.presence.endMessage(line.name, clock.now(), clock.steadyMs());
  }

  /** Values read, not published: stamps may be old. */
  read(values: readonly TagValue[]): void {
    this.#intake.message(values, this.#parts.clock.now(), false);
  }

  /** What the server kept of a gap; `present` are its values now, by which its clocks are judged. */
  archived(values: readonly TagValue[], present: readonly TagValue[]): void {
    const { nodes, clock, toleranceMs } = this.#parts;
    this.#intake.archived(values, onTime(present, nodes, { now: clock.now(), toleranceMs }));
  }

  unreadable(tags: readonly number[]): void {
    const at = this.#parts.clock.now();
    for (const tag of tags) this.#intake.unreadable(tag, at);
  }

  /** What the next session will find is not the continuation of this one. */
  endSession(): void {
    for (const line of this.#heardAt.keys()) this.presence.lose(line.name);
    this.#heardAt = new Map();
    this.presence.expectNothing();
    this.conditions.forget();
  }

  isQuiet(steadyMs: number): boolean {
    return [...this.#heardAt.values()].every((heard) => steadyMs - heard > QUIET_MS);
  }

  measures(): Measures {
    return {
      lastHeardAt: this.presence.lastHeardAt,
      values: this.#intake.values,
      overflows: this.#intake.overflows,
      skewsMs: [...this.#clocks.values()].map(({ skewMs }) => skewMs),
    };
  }

  /** The values of this message changed just now, so that their stamps tell how the clocks go. */
  #isFresh(line: Line): boolean {
    const steadyMs = this.#parts.clock.steadyMs();
    return line.name !== 'slow' && steadyMs > this.#settledAt && steadyMs - (this.#heardAt.get(line) ?? 0) < line.keepAliveMs * 1.2;
  }

  #unsettle(): void {
    this.#settledAt = this.#parts.clock.steadyMs() + UNSETTLED_MS;
  }

  #tellPresence(alive: boolean, at: number): void {
    if (!alive) this.#intake.forgetWords();
    for (const target of this.#parts.presenceNode.targets) this.#parts.outbox.add(target, at, alive, packTag(GOOD, FROM_RECEIPT));
  }
}
