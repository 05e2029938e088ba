/** What the alert watch goes by, all of it from the site file but for what is learned: the one place that a reloaded site file replaces. */
import type { BurstBaseline } from './burst.ts';
import type { Calendar } from './calendar.ts';
import type { AlertRules } from './config-alerts.ts';
import type { SiteFile } from './config.ts';
import type { UtilityKind } from './equipment.ts';

export type Utility = { readonly name: string; readonly kind: UtilityKind; readonly chambers: readonly string[] };

export type WatchRules = {
  readonly chambers: readonly string[];
  /** The chambers one person watches. None: one position watches all. */
  readonly positions: readonly { readonly name: string; readonly chambers: readonly string[] }[];
  readonly utilities: readonly Utility[];
  /** The server that speaks for a chamber. */
  readonly servers: Readonly<Record<string, string>>;
  readonly calendar: Calendar;
  readonly settings: AlertRules;
  readonly baselines: ReadonlyMap<string, BurstBaseline>;
  /** How far facts may trail behind the clock: longer where plant time runs faster than real time. */
  readonly lagMs: number;
};

export const LAG_MS = 30_000;

/** `baselines` and `lagMs` are not the site file's. */
export function watchRules(
  site: SiteFile,
  learned: Pick<WatchRules, 'baselines' | 'lagMs'> = { baselines: new Map(), lagMs: LAG_MS },
): WatchRules {
  return {
    chambers: site.chambers.map(({ id }) => id),
    positions: site.alerts.positions,
    utilities: site.utilities,
    servers: Object.fromEntries(site.chambers.map(({ id, server }) => [id, server])),
    calendar: { zone: site.site.zone, ...site.calendar },
    settings: site.alerts.rules,
    baselines: learned.baselines,
    lagMs: learned.lagMs,
  };
}
