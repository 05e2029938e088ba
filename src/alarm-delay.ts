/**
 * What a delay or a deadband would have made of an alarm, by replaying its own activations; in the manner of ISA-18.2 and of the example in
 * OPC 10000-9 annex B.1.5 (numbers our own).
 * [AD1] On-delay: told once the condition held without a break for so long. Off-delay: it stands until the condition was away for so long.
 * [AD2] Deadband: told above the limit, cleared below the limit less the deadband; for a low limit the mirror image.
 * [AD3] No delay reaches across time nobody observed, nor past an activation whose end was not seen: there the replay begins anew, and such an
 *       activation counts as told.
 * [AD4] A setting is advised when it is the smallest of its kind that removes nine tenths of what the longest would, and at least a third of
 *       the activations, three or more. Below five activations nothing is advised.
 * [AD5] For an alarm of high priority no on-delay is advised: an off-delay makes no alarm late, an on-delay all of them.
 */
import type { DelayAdvice, DelaySetting } from './alarm-answer.ts';
import type { ActiveSpan } from './alarm-spans.ts';
import type { Span } from './calendar.ts';
import type { AlarmPriority } from './equipment.ts';

const ON_DELAYS_S = [2, 5, 10, 15, 30, 60];
const OFF_DELAYS_S = [5, 10, 15, 30, 60, 120, 300];
const LEAST_ACTIVATIONS = 5;
const LEAST_REMOVED = 3;
const WORTH_IT = 1 / 3;
const NEARLY_ALL = 0.9;

export type Delays = { readonly onMs: number; readonly offMs: number };

/** [AD1] The alarms that a condition, active in these spans (ascending, apart), gives with these delays. */
export function delayed(spans: readonly Span[], { onMs, offMs }: Delays): readonly Span[] {
  const alarms: { from: number; to: number }[] = [];
  for (const { from, to } of spans) {
    const last = alarms.at(-1);
    if (last && from < last.to) last.to = Math.max(last.to, to + offMs);
    else if (to - from >= onMs) alarms.push({ from: from + onMs, to: to + offMs });
  }
  return alarms;
}

export type Limit = { readonly limit: number; readonly deadband: number; readonly side: 'high' | 'low' };

/** [AD2] Whether the alarm stands after each value. */
export function withDeadband(values: readonly number[], { limit, deadband, side }: Limit): readonly boolean[] {
  const sign = side === 'high' ? 1 : -1;
  let stands = false;
  return values.map((value) => {
    const beyond = sign * (value - limit);
    stands = stands ? beyond >= -deadband : beyond > 0;
    return stands;
  });
}

type Replayed = {
  readonly spans: readonly ActiveSpan[];
  /** Time nobody observed, in order. */
  readonly unseen: readonly Span[];
  readonly priority: AlarmPriority;
};

/** [AD1] [AD3]-[AD5] Null where there is too little to replay. */
export function delayAdvice({ spans, unseen, priority }: Replayed): DelayAdvice | null {
  if (spans.length < LEAST_ACTIVATIONS) return null;
  const groups = observedGroups(spans, unseen);
  const off = OFF_DELAYS_S.map((s) => setting(groups, 'off-delay', s * 1000));
  const on = ON_DELAYS_S.map((s) => setting(groups, 'on-delay', s * 1000));
  const [offDelay, onDelay] = [advised(off, spans.length), priority === 'high' ? null : advised(on, spans.length)];
  const text = [...(offDelay ? [offText(offDelay)] : []), ...(onDelay ? [onText(onDelay)] : [])].join(' ') || noneText(spans.length);
  return { activations: spans.length, settings: [...off, ...on], offDelay, onDelay, text };
}

/** [AD3] */
function observedGroups(spans: readonly ActiveSpan[], unseen: readonly Span[]): readonly (readonly ActiveSpan[])[] {
  const groups: ActiveSpan[][] = [];
  let before: ActiveSpan | undefined;
  for (const span of spans) {
    const since = before?.to;
    const isApart = before === undefined || !before.isKnown || unseen.some((hole) => hole.from < span.from && hole.to > (since as number));
    if (isApart) groups.push([span]);
    else groups.at(-1)?.push(span);
    before = span;
  }
  return groups;
}

function setting(groups: readonly (readonly ActiveSpan[])[], kind: DelaySetting['kind'], ms: number): DelaySetting {
  const delays = kind === 'on-delay' ? { onMs: ms, offMs: 0 } : { onMs: 0, offMs: ms };
  const total = groups.reduce((sum, group) => sum + group.length, 0);
  const left = groups.reduce((sum, group) => sum + alarmsLeft(group, delays), 0);
  return { kind, ms, left, removed: total - left, delayed: kind === 'on-delay' ? left : 0 };
}

/** [AD3] What was not seen to end may have gone on for as long as any delay. */
function alarmsLeft(group: readonly ActiveSpan[], delays: Delays): number {
  return delayed(
    group.map(({ from, to, isKnown }) => ({ from, to: isKnown ? to : Math.max(to, from + delays.onMs) })),
    delays,
  ).length;
}

/** [AD4] */
function advised(settings: readonly DelaySetting[], activations: number): DelaySetting | null {
  const most = settings.at(-1)?.removed ?? 0;
  const found = settings.find(({ removed }) => removed >= NEARLY_ALL * most);
  return found && found.removed >= LEAST_REMOVED && found.removed >= WORTH_IT * activations ? found : null;
}

const offText = ({ ms, left, removed }: DelaySetting): string =>
  `An off-delay of ${ms / 1000} s would have removed ${removed} of ${left + removed} activations and made no alarm late.`;
const onText = ({ ms, left, removed }: DelaySetting): string =>
  `An on-delay of ${ms / 1000} s would have removed ${removed} of ${left + removed} and told the other ${left} later by ${ms / 1000} s.`;
const noneText = (activations: number): string =>
  `No delay up to five minutes would have spared a third of the ${activations} activations: look for the cause.`;
