/** Alarm states, measures and windows in words. */
import type { AlarmLoad, AlarmState, BadActor, DelaySetting, JournalKind, JournalRow } from '../src/alarm-answer.ts';
import type { TargetLine } from '../src/kpi.ts';
import { clock, day, durationText, MISSING } from './format.ts';

export const STATE_WORDS: Readonly<Record<AlarmState, string>> = {
  A: 'normal again',
  B: 'stands, unacknowledged',
  C: 'stands, acknowledged',
  D: 'cleared, unacknowledged',
  'B/C': 'stands',
  E: 'latched, unacknowledged',
  F: 'latched, acknowledged',
  'E/F': 'latched',
  G: 'shelved',
  H: 'suppressed by design',
  I: 'out of service',
};
export const KIND_WORDS: Readonly<Record<JournalKind, string>> = {
  all: 'all, notices too',
  alarms: 'alarms',
  counted: 'counted in rates',
  standing: 'standing',
  latched: 'latched',
  suppressed: 'kept from being shown',
  shelved: 'shelved',
  'by design': 'suppressed by design',
  'out of service': 'out of service',
  notices: 'notices',
  'found standing': 'found standing',
};

export const isStanding = ({ clearedAt, state }: JournalRow): boolean => clearedAt === null && state !== 'A' && state !== 'D';

/** Whether it is in the rates, and if not why. */
export function apart({ notice, suppressed, suppressedAs, counted }: JournalRow): string {
  if (notice) return 'notice';
  if (suppressed) return suppressedAs.join(', ') || 'kept from being shown';
  return counted ? '' : 'begin not seen';
}

export function acknowledgedText({ acknowledgement, acknowledgeMs }: JournalRow): string {
  if (acknowledgement === 'acknowledged') return acknowledgeMs === null ? 'yes' : `after ${durationText(acknowledgeMs)}`;
  return acknowledgement === 'not told' ? MISSING : acknowledgement;
}

/** 'Wed 18 Nov 06:00 to Wed 25 Nov 06:00', the day once where it is one. */
export function spanText({ from, to }: { readonly from: number; readonly to: number }, zone: string): string {
  const end = day(to, zone) === day(from, zone) ? clock(to, zone) : `${day(to, zone)} ${clock(to, zone)}`;
  return `${day(from, zone)} ${clock(from, zone)} to ${end}`;
}

export const above = ({ verdict }: TargetLine): boolean => verdict.startsWith('above');

/** How many of a load's measures are above their target. */
export const aboveCount = ({ lines }: AlarmLoad): number => lines.filter(above).length;

/** By which rules it chatters. */
export function chatterText({ chatter }: BadActor): string {
  const { hits, slow, byIndex } = chatter;
  const by = [hits > 0 ? `3 in a minute, ${hits}×` : '', slow ? 'slowly' : '', byIndex ? 'by index' : ''].filter((one) => one !== '');
  return by.join('; ');
}

/** 'would have removed 21 of 24; 3 told 15 s later'. */
export function settingText({ kind, ms, left, removed, delayed }: DelaySetting): string {
  const cost = delayed === 0 ? 'none told later' : `the other ${delayed} told ${ms / 1000} s later`;
  return `${kind} ${ms / 1000} s would have removed ${removed} of ${left + removed}, ${cost}`;
}
