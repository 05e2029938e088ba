/**
 * How one server is doing, for people: state and sentence, unread tags, clocks, counters. Told at once when state changes, otherwise at most
 * once a second and only when something is new.
 */
import type { TagNode } from '../../src/tag-map.ts';
import type { ServerStatus } from './link-port.ts';

/** What others count and measure. */
export type Measures = {
  readonly lastHeardAt: number | null;
  readonly values: number;
  readonly overflows: number;
  /** Each clock's skew, null where not known yet. */
  readonly skewsMs: readonly (number | null)[];
};

export class Standing {
  readonly counters = { sequenceGaps: 0, rebuilds: 0, handlerErrors: 0 };
  state: ServerStatus['state'] = 'connecting';
  certificates: NonNullable<ServerStatus['certificates']> = [];
  /** Reason by tag number. */
  unread: ReadonlyMap<number, string> = new Map();
  #message = '';
  #told = '';
  readonly #server: string;
  readonly #nodes: readonly TagNode[];
  readonly #measures: () => Measures;
  readonly #tell: (status: ServerStatus) => void;

  constructor(parts: { server: string; nodes: readonly TagNode[]; measures: () => Measures; tell: (status: ServerStatus) => void }) {
    this.#server = parts.server;
    this.#nodes = parts.nodes;
    this.#measures = parts.measures;
    this.#tell = parts.tell;
  }

  say(state: ServerStatus['state'], message: string): void {
    this.state = state;
    this.#message = message;
    this.tellNews();
  }

  /** Something went wrong in passing: counted, and shown unless the link is live all the same. */
  trouble(message: string): void {
    this.counters.handlerErrors++;
    if (this.state !== 'live') this.#message = message;
  }

  tellNews(): void {
    const status = this.#status();
    const text = JSON.stringify(status);
    if (text === this.#told) return;
    this.#told = text;
    this.#tell(status);
  }

  #status(): ServerStatus {
    const { lastHeardAt, values, overflows, skewsMs } = this.#measures();
    const badTags = [...this.unread].flatMap(([tag, reason]) =>
      (this.#nodes[tag] as TagNode).targets.filter(isTag).map(({ chamber, signal }) => ({ chamber, signal, reason })),
    );
    return {
      server: this.#server,
      state: this.state,
      message: this.#message,
      skewMs: furthest(skewsMs),
      lastHeardAt,
      badTags,
      ...(this.certificates.length > 0 ? { certificates: this.certificates } : {}),
      counters: { values, overflows, ...this.counters },
    };
  }
}

/** What a condition says beside its alarm is no tag of its own. */
const isTag = ({ signal }: { signal: string }): boolean => !signal.startsWith('alarm-');

/** Of the server's clock and its devices' clocks, the one furthest off. */
function furthest(skewsMs: readonly (number | null)[]): number | null {
  const known = skewsMs.filter((skew) => skew !== null);
  return known.length === 0 ? null : Math.round(known.reduce((worst, skew) => (Math.abs(skew) > Math.abs(worst) ? skew : worst)));
}
