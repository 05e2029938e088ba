/** How each route is doing, for people and for /health: what waits, what was given up, what got through last and what went wrong since. */
import type { Delivery, RouteLine as RouteState } from '../../src/contract.ts';
import type { DeliveryStore } from '../store/store.ts';
import { isGivenUp } from './resend.ts';
import { placeOf, type AlertRoute } from './route.ts';

export type { RouteState };

const UNDONE: readonly Delivery['state'][] = ['waiting', 'dead'];
type Trouble = { readonly at: number; readonly error: string };

export class RouteStates {
  readonly #store: Pick<DeliveryStore, 'deliveries' | 'lastDelivered'>;
  #undone: ReadonlyMap<string, readonly Delivery[]> = new Map();
  #last: Map<string, number> | null = null;
  /** Since this start. */
  readonly #troubles = new Map<string, Trouble>();

  constructor(store: Pick<DeliveryStore, 'deliveries' | 'lastDelivered'>) {
    this.#store = store;
  }

  async refresh(): Promise<void> {
    this.#last ??= new Map(await this.#store.lastDelivered());
    this.#undone = Map.groupBy(await this.#store.deliveries({ states: UNDONE }), ({ route }) => route);
  }

  note({ route, state, deliveredAt, lastError, nextAt }: Delivery): void {
    if (state === 'delivered') {
      this.#last?.set(route, deliveredAt ?? 0);
      this.#troubles.delete(route);
    } else if (lastError !== null) this.#troubles.set(route, { at: nextAt ?? 0, error: lastError });
  }

  /** Those of the site file, and those of which only messages are left. */
  all(routes: readonly AlertRoute[]): readonly RouteState[] {
    const known = routes.map((route) => this.#stateOf(route.name, route));
    const left = [...this.#undone.keys()].filter((name) => !routes.some((route) => route.name === name));
    return [...known, ...left.map((name) => this.#stateOf(name, null))];
  }

  #stateOf(name: string, route: AlertRoute | null): RouteState {
    const undone = (this.#undone.get(name) ?? []).filter(({ stage }) => stage !== 'test');
    const waiting = undone.filter(({ state }) => state === 'waiting');
    const tried = waiting.filter(({ attempts }) => attempts > 0);
    return {
      route: name,
      type: route?.type ?? 'gone',
      place: route === null ? '' : placeOf(route),
      state: tried.length > 0 ? 'failing' : this.#last?.has(name) === true ? 'well' : 'unused',
      lastDeliveredAt: this.#last?.get(name) ?? null,
      failingSince: tried.length === 0 ? null : Math.min(...tried.map(({ dueAt, nextAt }) => dueAt ?? nextAt ?? 0)),
      lastError: this.#troubles.get(name)?.error ?? tried.at(-1)?.lastError ?? null,
      waiting: waiting.length,
      dead: undone.filter(isGivenUp).length,
    };
  }
}
