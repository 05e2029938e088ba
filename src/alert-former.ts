/**
 * What the watch holds of chambers that the site file has no more.
 * [AX4] It is over: each open alert of such a chamber ends, what it shares with others goes on without it, and nothing of it is kept.
 */
import { causesWithout } from './alert-cause.ts';
import { ended } from './alert-form.ts';
import { heard } from './alert-silence.ts';
import type { Watched, WatchState } from './alert-watch.ts';
import type { Alert } from './contract.ts';
import type { WatchRules } from './watch-rules.ts';

/** [AX4] */
export function withoutFormer({ chambers }: WatchRules, state: WatchState, at: number): Watched {
  const isFormer = (chamber: string): boolean => !chambers.includes(chamber);
  const former = [...new Set(held(state))].filter(isFormer);
  if (former.length === 0) return { state, alerts: [] };
  const over = (alert: Alert | null | undefined): Alert[] =>
    alert ? [ended(alert, at, { headline: `${alert.chamber}: over. The site file has this chamber no more.` })] : [];
  const alerts = [
    ...Object.values(state.holds).flatMap((hold) => (isFormer(hold.chamber) ? over(hold.alert) : [])),
    ...former.flatMap((chamber) => Object.values(state.runs[chamber]?.alerts ?? {}).flatMap(({ alert }) => over(alert))),
  ];
  let { silences, causes } = state;
  for (const chamber of former) {
    const step = heard({ holds: {}, silences }, chamber, at);
    silences = step.silences;
    alerts.push(...step.alerts);
    causes = causesWithout(causes, chamber, at);
  }
  const holds = Object.fromEntries(Object.entries(state.holds).filter(([, { chamber }]) => !isFormer(chamber)));
  const kept = <T>(of: Readonly<Record<string, T>>): Record<string, T> =>
    Object.fromEntries(Object.entries(of).filter(([chamber]) => !isFormer(chamber)));
  const { classes, began, runs } = state;
  return { state: { ...state, holds, silences, causes, classes: kept(classes), began: kept(began), runs: kept(runs) }, alerts };
}

/** The chambers of which anything is held. */
const held = ({ holds, silences, causes: { causes }, classes, began, runs }: WatchState): string[] => [
  ...Object.values(holds).map(({ chamber }) => chamber),
  ...Object.values(silences).flatMap(({ silent }) => silent),
  ...causes.flatMap(({ standing }) => standing.map((word) => word.slice(0, word.indexOf('|')))),
  ...[classes, began, runs].flatMap((of) => Object.keys(of)),
];
