/**
 * The gateway's end of the link: one process reads the whole fleet. When a process dies too often its servers are shared between two new
 * ones, and so on, until the server that kills it sits alone: then only that one has to wait.
 */
import type { LinkSite } from '../../src/link-need.ts';
import type { Clock } from '../clock.ts';
import type { AcknowledgeAnswer, AcknowledgeRequest, Link, LinkEvents } from './link-port.ts';
import { LinkProcess } from './link-process.ts';
import type { RestartRule } from './link-process.ts';

const RESTART: RestartRule = { limit: 5, withinMs: 60_000, pauseMs: 300_000 };

export type LinkOptions = {
  readonly site: LinkSite;
  readonly clock: Clock;
  readonly pkiFolder: string;
  readonly events: LinkEvents;
  readonly restart?: RestartRule;
};

export function openLink(options: LinkOptions): OpcUaLink {
  return new OpcUaLink(options);
}

export class OpcUaLink implements Link {
  readonly #options: LinkOptions;
  readonly #processes = new Set<LinkProcess>();
  readonly #ending = new Set<Promise<void>>();

  constructor(options: LinkOptions) {
    this.#options = options;
  }

  /** Of the link processes that run now, for those who watch their cost. */
  get pids(): readonly number[] {
    return [...this.#processes].flatMap(({ pid }) => (pid === null ? [] : [pid]));
  }

  /** `heardUntil`: when each server was last heard before, so that what it kept since can be read back. */
  start(heardUntil: Readonly<Record<string, number>> = {}): Promise<void> {
    const { servers, templates, chambers } = this.#options.site;
    this.#launch({ servers, templates, chambers }, heardUntil);
    return Promise.resolve();
  }

  /** Each process keeps its servers; those that are new go to the one that has fewest. A process without servers ends. */
  change({ servers, templates, chambers }: LinkSite, heardUntil: Readonly<Record<string, number>> = {}): void {
    const processes = [...this.#processes].sort((a, b) => a.site.servers.length - b.site.servers.length);
    const home = new Map(processes.flatMap((process) => process.site.servers.map(({ name }) => [name, process] as const)));
    const [first] = processes;
    if (first === undefined) return this.#launch({ servers, templates, chambers }, heardUntil);
    for (const process of processes) {
      const own = servers.filter(({ name }) => (home.get(name) ?? first) === process);
      const site = { servers: own, templates, chambers: chambers.filter(({ server }) => own.some(({ name }) => name === server)) };
      if (own.length > 0) process.change(site, heardUntil);
      else this.#end(process);
    }
  }

  acknowledge(request: AcknowledgeRequest): Promise<AcknowledgeAnswer> {
    const home = [...this.#processes].find(({ site }) => site.servers.some(({ name }) => name === request.server));
    return (
      home?.acknowledge(request) ??
      Promise.resolve({ done: false, text: `${request.server} is not read, so nothing can be acknowledged there.` })
    );
  }

  #end(process: LinkProcess): void {
    this.#processes.delete(process);
    this.#ending.add(process.stop());
  }

  async stop(): Promise<void> {
    await Promise.all(this.#ending);
    await Promise.all([...this.#processes].map((process) => process.stop()));
    this.#processes.clear();
  }

  #launch(site: LinkSite, heardUntil: Readonly<Record<string, number>>): void {
    const { clock, pkiFolder, events, restart = RESTART } = this.#options;
    const giveUp = (): boolean => this.#share(process);
    const process = new LinkProcess({ site, clock, pkiFolder, events, rule: restart, heardUntil, giveUp });
    this.#processes.add(process);
    process.start();
  }

  /** True when there were servers to share out. */
  #share(process: LinkProcess): boolean {
    const { site } = process;
    const half = Math.ceil(site.servers.length / 2);
    if (half === site.servers.length) return false;
    this.#processes.delete(process);
    for (const servers of [site.servers.slice(0, half), site.servers.slice(half)]) {
      const chambers = site.chambers.filter(({ server }) => servers.some(({ name }) => name === server));
      this.#launch({ ...site, servers, chambers }, process.heardUntil);
    }
    return true;
  }
}
