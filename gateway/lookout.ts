/**
 * Looks, from time to time, at what is in no chamber's facts (drift, maintenance that falls due, certificates, the gateway itself) and hands what
 * it finds to the pipeline, where the alert watch takes it with the next commit. It decides nothing: what is a finding is src/finding-*.ts.
 */
import { statfs } from 'node:fs/promises';
import type { FindingKind, Finding, FindingsInput } from '../src/alert-finding.ts';
import type { CertificateUse } from '../src/certificate-expiry.ts';
import type { SiteFile } from '../src/config.ts';
import type { RouteLine } from '../src/contract.ts';
import type { Counters } from '../src/counter-answer.ts';
import type { DriftFleet } from '../src/drift-answer.ts';
import type { StoredEvent } from '../src/event.ts';
import { driftFindings } from '../src/finding-drift.ts';
import { gatewayFindings, type GatewaySight } from '../src/finding-gateway.ts';
import { certificateFindings, maintenanceFindings } from '../src/finding-upkeep.ts';
import type { Clock } from './clock.ts';
import { Recently } from './recently.ts';

const GATEWAY_MS = 10_000;
const DRIFT_MS = 15_000;
const MAINTENANCE_MS = 10 * 60_000;
const CERTIFICATES_MS = 3_600_000;
const DROPPED_MS = 10 * 60_000;
const DEATHS_MS = 3_600_000;

export type LookoutParts = {
  /** As it is now: it may be read again while we run. */
  readonly site: () => SiteFile;
  readonly clock: Clock;
  readonly folder: string;
  readonly drift: () => Promise<DriftFleet>;
  readonly counters: () => Promise<Counters>;
  readonly certificates: () => readonly CertificateUse[];
  /** Counted since the start. */
  readonly dropped: () => { readonly facts: number; readonly live: number };
  /** The longest commit since it was last asked. */
  readonly slowestCommitMs: () => number;
  readonly routes: () => readonly RouteLine[];
  readonly find: (findings: FindingsInput) => void;
  readonly realNow: () => number;
  readonly onFatal: (error: unknown) => void;
};

/** What a run's end or a person's word may have changed. */
const MOVES_DRIFT = ['run-record', 'reason', 'reason-withdrawn'];

export class Lookout {
  readonly #parts: LookoutParts;
  readonly #timers: NodeJS.Timeout[] = [];
  readonly #deaths: Recently;
  readonly #facts: Recently;
  readonly #live: Recently;
  #hasMoved = true;
  #isStopped = false;

  constructor(parts: LookoutParts) {
    this.#parts = parts;
    this.#deaths = new Recently(DEATHS_MS);
    this.#facts = new Recently(DROPPED_MS);
    this.#live = new Recently(DROPPED_MS);
  }

  start(): void {
    const { speed } = this.#parts.clock;
    this.#every(GATEWAY_MS, () => this.#lookAtGateway());
    this.#every(DRIFT_MS, () => this.#lookAtDrift());
    this.#every(Math.max(DRIFT_MS, MAINTENANCE_MS / speed), () => this.#lookAtMaintenance());
    this.#every(CERTIFICATES_MS, () => this.#lookAtCertificates());
  }

  /** A look that is under way ends where the store is closed already; that is no fault. */
  stop(): void {
    this.#isStopped = true;
    this.#timers.forEach(clearInterval);
  }

  note(stored: readonly StoredEvent[]): void {
    this.#hasMoved ||= stored.some(({ kind }) => MOVES_DRIFT.includes(kind));
  }

  /** A link process ended although nobody asked it to. */
  linkDied(): void {
    this.#deaths.add(this.#parts.clock.steadyMs(), 1);
  }

  async #lookAtGateway(): Promise<void> {
    const { clock, dropped, slowestCommitMs, routes, site, folder } = this.#parts;
    const now = clock.steadyMs();
    const { facts, live } = dropped();
    const findings = gatewayFindings(
      {
        disk: await diskOf(folder),
        slowestCommitMs: slowestCommitMs(),
        linkDeaths: this.#deaths.sum(now),
        droppedFacts: this.#facts.grown(now, facts),
        droppedLive: this.#live.grown(now, live),
        dead: routes().map(({ route, dead, lastError }) => ({ route, count: dead, lastError })),
      },
      site().alerts.rules.gateway,
    );
    this.#find('gateway', findings);
  }

  /** Only when something has moved: judging a fleet costs more than asking whether. */
  async #lookAtDrift(): Promise<void> {
    if (!this.#hasMoved) return;
    this.#hasMoved = false;
    this.#find('drift', driftFindings(await this.#parts.drift(), this.#parts.site().site.zone));
  }

  async #lookAtMaintenance(): Promise<void> {
    const { counters, site } = this.#parts;
    const { at: now, maintenance } = await counters();
    this.#find('meter-due', maintenanceFindings(maintenance, { now, daysAhead: site().alerts.rules['meter-due'].daysAhead }));
  }

  #lookAtCertificates(): Promise<void> {
    const { certificates, realNow, site } = this.#parts;
    const { daysAhead } = site().alerts.rules.certificate;
    this.#find('certificate', certificateFindings(certificates(), { now: realNow(), daysAhead }));
    return Promise.resolve();
  }

  #find(of: FindingKind, findings: readonly Finding[]): void {
    this.#parts.find({ kind: 'findings', of, at: this.#parts.clock.now(), findings });
  }

  /** At once, and then so often; one look at a time. */
  #every(ms: number, look: () => Promise<void>): void {
    let isLooking = false;
    const once = (): void => {
      if (isLooking) return;
      isLooking = true;
      void look()
        .catch((error: unknown) => (this.#isStopped ? undefined : this.#parts.onFatal(error)))
        .finally(() => (isLooking = false));
    };
    once();
    this.#timers.push(setInterval(once, ms));
  }
}

/** A disk that cannot be looked at for a moment is for a person to hear of: nothing is lost yet, and the store itself says when it is. */
async function diskOf(folder: string): Promise<GatewaySight['disk']> {
  try {
    const { bavail, blocks, bsize } = await statfs(folder);
    return { freeBytes: bavail * bsize, sizeBytes: blocks * bsize };
  } catch (error) {
    return { unread: (error as NodeJS.ErrnoException).code ?? 'no reason given' };
  }
}
