/**
 * The site file's word on one chamber, as the reducer wants it.
 * [SR1] Full scale is of the actual gas: the label's full scale times the correction factor, at the line's reference condition.
 * [SR2] What the template leaves out is the house default.
 */
import { DEFAULT_RULES } from './chamber-rules.ts';
import type { AlarmDefinition, ChamberRules, GasLineRules } from './chamber-rules.ts';
import type { SiteFile } from './config.ts';
import { Fault } from './fault.ts';
import { bindingsOf, templateOf } from './tag-map.ts';
import { toSi } from './units.ts';

export function chamberRules(site: SiteFile, chamberId: string): ChamberRules {
  const chamber = site.chambers.find(({ id }) => id === chamberId);
  if (!chamber) throw new Fault('not-found', `The site file has no chamber ${chamberId}.`);
  const template = templateOf(site, chamber);
  return {
    chamber: chamber.id,
    alarms: Object.fromEntries(Object.entries(template.alarms).map(([code, alarm]) => [code, alarmDefinition(code, alarm)])),
    gases: gasRules(template.gases),
    rfMaxW: template.rfMaxW,
    basePressurePa: template.basePressurePa,
    phaseCodes: template.phases ?? null,
    stepCounts: bindingsOf(template, chamber)['recipe.step']?.counts ?? DEFAULT_RULES.stepCounts,
    engineeringRecipes: site.engineeringRecipes,
    handlingLimitMs: DEFAULT_RULES.handlingLimitMs,
    bridgeMs: DEFAULT_RULES.bridgeMs,
    frozenMs: DEFAULT_RULES.frozenMs,
    outOfServiceInMaintenance: template.alarmsInMaintenance === 'out-of-service',
    shortestPurgeMs: template.shortestPurgeS === undefined ? DEFAULT_RULES.shortestPurgeMs : template.shortestPurgeS * 1000,
  };
}

type Template = SiteFile['templates'][string];

const alarmDefinition = (code: string, alarm: Template['alarms'][string]): AlarmDefinition => ({
  code,
  text: alarm.text,
  priority: alarm.priority,
  effect: alarm.effect,
  notice: alarm.notice,
});

function gasRules(gases: Template['gases']): ChamberRules['gases'] {
  const rules: Partial<Record<1 | 2 | 3 | 4, GasLineRules>> = {};
  for (const line of [1, 2, 3, 4] as const) {
    const gas = gases[`${line}`];
    if (!gas) continue;
    rules[line] = { kind: gas.kind, fullScaleMolPerS: toSi(gas.fullScaleSccm, 'sccm', gas), fluorinated: gas.fluorinated };
  }
  return rules;
}
