/** Facts and zones that several tests begin from, each with what it is about. */
import type { OpenRun } from '../../src/chamber-state.ts';
import type { AlarmEvent } from '../../src/event.ts';

export const alarmExample = (part: Partial<AlarmEvent> = {}): AlarmEvent => ({
  kind: 'alarm',
  chamber: 'PC-01',
  at: 0,
  code: 'A',
  text: part.code ?? 'A',
  priority: 'low',
  notice: false,
  change: 'activated',
  counted: true,
  suppressed: false,
  ...part,
});

/** A run still going on, told by signals, with nothing wrong. */
export const openRunExample = (part: Partial<OpenRun> = {}): OpenRun => ({
  run: 'r',
  startedAt: 0,
  source: 'signal',
  recipe: 'R',
  load: null,
  engineering: false,
  doorClosedAt: null,
  unobservedMs: 0,
  holes: [],
  stopped: false,
  interrupted: false,
  blind: false,
  stepCount: null,
  stepDurationMs: null,
  phases: [],
  ...part,
});

/** Whole, half and quarter hours, both hemispheres, a half hour of summer time, none at all, and one that stops for Ramadan. */
export const ZONES = [
  'Europe/Berlin',
  'America/New_York',
  'Australia/Sydney',
  'Australia/Lord_Howe',
  'Africa/Cairo',
  'America/Santiago',
  'Asia/Tokyo',
  'UTC',
  'Asia/Kathmandu',
  'America/St_Johns',
  'Pacific/Chatham',
  'Africa/Casablanca',
  'America/Havana',
  'Asia/Tehran',
  'Pacific/Apia',
];
