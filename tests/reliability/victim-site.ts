/** How the process to be killed tells of its alerts: at once by a webhook and by mail, again when nobody acknowledges, then to others. */
import type { TellPlan } from '../../src/alert-plan.ts';
import type { SiteFile } from '../../src/config.ts';
import { demoSite } from '../accuracy/plant-feed.ts';

export const ROUTES = { hook: 'webhook', mail: 'mail', boss: 'webhook' } as const;
export type RouteName = keyof typeof ROUTES;
export const FROM = 'wall@quellmoor.example';
export const TELL: TellPlan = {
  to: ['hook', 'mail'],
  shifts: 'always',
  otherwise: [],
  groupMin: 0.5,
  repeatMin: 120,
  escalate: { afterMin: 45, to: ['boss'] },
};

/** Many alerts, each told on its own: what comes at once on many chambers would otherwise be one. */
export function victimSite(): SiteFile {
  const site = demoSite();
  const { rules } = site.alerts;
  const off = <Rule extends { readonly on: boolean }>(rule: Rule): Rule => ({ ...rule, on: false });
  return { ...site, alerts: { ...site.alerts, rules: { ...rules, 'common-cause': off(rules['common-cause']), flood: off(rules.flood) } } };
}
