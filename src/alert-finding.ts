/**
 * Alerts about what is not in the chambers' own facts: drift, maintenance that falls due, certificates, the gateway itself. Whoever finds such
 * things tells, from time to time, all that hold at present; the watch keeps one alert for each.
 * [FD1] A finding that holds for as long as its kind asks opens an alert. One that changed is told in the same alert; one that is gone for as long
 *       as its kind asks ends it. What is open when the site file turns its rule off ends.
 * [FD2] Of one chamber, a drift that points to the same cause as one already told is part of that alert.
 */
import { ended, newAlert } from './alert-form.ts';
import type { Alert, AlertKind } from './contract.ts';
import type { WatchRules } from './watch-rules.ts';
import { HOUR_MS, MINUTE_MS } from './zone.ts';

export type FindingKind = Extract<AlertKind, 'drift' | 'meter-due' | 'certificate' | 'gateway'>;
export type Finding = {
  /** What it is about, the same for as long as it is about that. */
  readonly subject: string;
  readonly chamber: string | null;
  readonly headline: string;
  /** The headline once it is over. */
  readonly over: string;
  readonly rule: string;
  readonly cure: string | null;
  readonly facts: Alert['facts'];
  readonly together?: readonly string[];
  /** By which several of one chamber are one. */
  readonly cause?: string | null;
};
export type FindingsInput = {
  readonly kind: 'findings';
  readonly of: FindingKind;
  readonly at: number;
  readonly findings: readonly Finding[];
};

type Held = {
  readonly since: number;
  readonly goneAt: number | null;
  readonly over: string;
  readonly cause: string | null;
  readonly alert: Alert | null;
};
/** Keys: `<kind>/<subject>`. */
export type Findings = Readonly<Record<string, Held>>;
type FindingNews = { readonly found: Findings; readonly alerts: readonly Alert[] };

/** How long a finding must hold before it is told, and be gone before it is over. */
const PATIENCE: Readonly<Record<FindingKind, { readonly holdMs: number; readonly goneMs: number }>> = {
  drift: { holdMs: 0, goneMs: 24 * HOUR_MS },
  'meter-due': { holdMs: 0, goneMs: 0 },
  certificate: { holdMs: 0, goneMs: 0 },
  gateway: { holdMs: MINUTE_MS, goneMs: 10 * MINUTE_MS },
};

/** [FD1] */
export function foundNow(rules: WatchRules, found: Findings, input: FindingsInput): FindingNews {
  const { of, at, findings } = input;
  if (!rules.settings[of].on) return turnedOff(found, of, at);
  let news: FindingNews = { found, alerts: [] };
  for (const finding of findings) news = together(news, stepped(rules, news.found, { of, at, finding }));
  const present = new Set(findings.map(({ subject }) => `${of}/${subject}`));
  for (const key of Object.keys(news.found))
    if (key.startsWith(`${of}/`) && !present.has(key)) news = together(news, missing(news.found, { key, of, at }));
  return news;
}

/** [FD1] */
function turnedOff(found: Findings, of: FindingKind, at: number): FindingNews {
  const own = Object.entries(found).filter(([key]) => key.startsWith(`${of}/`));
  if (own.length === 0) return { found, alerts: [] };
  const headline = (was: string): string => `Told no more: the site file turned alerts of this kind off. It was: ${was}`;
  return {
    found: Object.fromEntries(Object.entries(found).filter(([key]) => !key.startsWith(`${of}/`))),
    alerts: own.flatMap(([, { alert }]) => (alert === null ? [] : [ended(alert, at, { headline: headline(alert.headline) })])),
  };
}

const together = (before: FindingNews, { found, alerts }: FindingNews): FindingNews => ({ found, alerts: [...before.alerts, ...alerts] });

type One = { readonly of: FindingKind; readonly at: number; readonly finding: Finding };

function stepped(rules: WatchRules, found: Findings, { of, at, finding }: One): FindingNews {
  const key = `${of}/${finding.subject}`;
  const known = found[key];
  const held: Held = {
    since: known?.since ?? at,
    goneAt: null,
    over: finding.over,
    cause: finding.cause ?? null,
    alert: known?.alert ?? null,
  };
  const alert = held.alert === null ? opened(rules, found, { of, at, finding }, held.since) : changed(held.alert, finding, at);
  return { found: { ...found, [key]: { ...held, alert } }, alerts: alert === null || alert === held.alert ? [] : [alert] };
}

function opened(rules: WatchRules, found: Findings, { of, at, finding }: One, since: number): Alert | null {
  if (at - since < PATIENCE[of].holdMs) return null;
  const { subject, chamber, headline, rule, cure, facts, together: others = [] } = finding;
  const partOf = of === 'drift' ? (widerDrift(found, finding)?.id ?? null) : null;
  const { severity } = rules.settings[of];
  return newAlert({ kind: of, subject, at, chamber, severity, headline, rule, cure, facts: [...facts], together: [...others], partOf });
}

/** [FD2] */
function widerDrift(found: Findings, { chamber, cause = null }: Finding): Alert | null {
  const open = Object.entries(found).filter(
    ([key, { alert }]) => key.startsWith('drift/') && alert?.chamber === chamber && alert.partOf === null,
  );
  return open.find(([, one]) => one.cause === cause || cause === null)?.[1].alert ?? null;
}

function changed(alert: Alert, finding: Finding, at: number): Alert {
  const { headline, rule, cure, together: others = [] } = finding;
  const next = { ...alert, headline, rule, cure, facts: [...finding.facts], together: [...others] };
  return JSON.stringify(next) === JSON.stringify(alert) ? alert : { ...next, updatedAt: Math.max(at, alert.updatedAt) };
}

function missing(found: Findings, { key, of, at }: { readonly key: string; readonly of: FindingKind; readonly at: number }): FindingNews {
  const { [key]: held, ...others } = found;
  if (held === undefined) return { found, alerts: [] };
  const goneAt = held.goneAt ?? at;
  if (held.alert !== null && at - goneAt < PATIENCE[of].goneMs) return { found: { ...others, [key]: { ...held, goneAt } }, alerts: [] };
  return { found: others, alerts: held.alert === null ? [] : [ended(held.alert, at, { headline: held.over })] };
}
