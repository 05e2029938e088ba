/**
 * What a chamber is doing, from its signals alone. Trade practice, no standard behind it; times are event times, boundaries are back-dated.
 * [PH1] Pump-down begins when the chamber valve opens on a running pump with the door shut.
 * [PH2] Gas stabilisation begins when gas flows below three times base pressure; plasma when RF burns, gas or not.
 * [PH3] RF off inside a recipe is a pause: plasma ends only when RF stayed off 20 s and process gas is off, or the pump valve shuts, or venting starts.
 *       The end is then back-dated to RF off; to the end of the call for power where that stood on in a pause and was then withdrawn.
 * [PH4] RF off a minute with process gas still flowing is a hold.
 * [PH5] Vent delay begins when the pump valve shuts, vent when the vent valve opens; back at atmosphere the chamber waits to be unloaded.
 * [PH10] The pump valve shut on an unfinished run, or a stopped pump in purge or vent, and nothing happening for 30 s is a hold: the sequence
 *        stands still, from when the pump stopped where the valve was shut in order before.
 * [PH6] Under vacuum with the valve shut, nothing flowing and nothing burned since pump-down for 60 s is a leak test.
 * [PH7] Pumping below three times base pressure without gas for 30 min is parked, not a fourteen-hour pump-down.
 * [PH8] Door open before a run is load, after a run unload; opened and shut without a run is idle again.
 * [PH9] After a hole the phase is judged afresh from what is seen and from the phase before.
 */
import type { Flags, Sequence } from './chamber-state.ts';
import type { BoundarySource, Phase } from './equipment.ts';
import type { Flag } from './flag.ts';

export type Boundary = { readonly phase: Phase; readonly at: number; readonly source: BoundarySource };

const PAUSE_MS = 20_000;
const HOLD_MS = 60_000;
/** Two valves moved by one command are seen within this. */
export const TOGETHER_MS = 3_000;
/** A failing supply takes valve and pump within this. */
const AT_ONCE_MS = 1_000;
const STALLED_MS = 30_000;
const LEAK_TEST_MS = 60_000;
const PARKED_MS = 30 * 60_000;

const WORKING: readonly Phase[] = ['pump-down', 'gas-stabilisation', 'plasma', 'hold'];
export const AT_REST: readonly Phase[] = ['idle', 'load', 'unload', 'wait-unload', 'parked'];
export const FIRST_SEQUENCE: Sequence = { phase: 'idle', since: 0, before: 'idle', lit: false, inRun: false, fluorinated: false };

/** The next phase if it is already due at `now`, or null. */
export function nextPhase(sequence: Sequence, flags: Flags, now: number): Boundary | null {
  const { phase, since, inRun } = sequence;
  switch (phase) {
    case 'idle':
    case 'load':
    case 'unload':
    case 'wait-unload':
      return atAtmosphere(phase, since, flags);
    case 'pump-down':
      return fromPumpDown(since, flags, now);
    case 'gas-stabilisation':
      return burning(flags) ?? vented(flags) ?? closed(flags) ?? (isOff(flags.gas) ? to('purge', flags.gas.since) : null);
    case 'plasma':
      return fromPlasma(flags, now);
    case 'hold':
      return fromHold(since, flags, now, inRun);
    case 'purge':
      return burning(flags) ?? vented(flags) ?? closed(flags) ?? parked(Math.max(since, flags.gas.since), flags, now);
    case 'vent-delay':
      return fromVentDelay(sequence, flags, now);
    case 'vent':
      return (
        back(flags, inRun) ??
        repumped(flags) ??
        (isDead(flags) ? after(Math.max(since, flags.venting.since), STALLED_MS, 'hold', now) : null)
      );
    case 'leak-test':
      return repumped(flags) ?? vented(flags) ?? back(flags, inRun);
    case 'parked':
      return burning(flags) ?? (isOn(flags.gas) ? to('gas-stabilisation', flags.gas.since) : null) ?? vented(flags) ?? closed(flags);
  }
}

/** When the next phase falls due by time alone, without any signal changing; may lie in the past when something else forbids it. */
export function phaseDue({ phase, since }: Sequence, flags: Flags): readonly number[] {
  switch (phase) {
    case 'pump-down':
      return [Math.max(since, flags.lowPressure.since) + PARKED_MS];
    case 'plasma':
      return isOff(flags.rf) ? [flags.rf.since + PAUSE_MS, flags.rf.since + HOLD_MS] : [];
    case 'hold':
      return [flags.processGas.since + PAUSE_MS];
    case 'purge':
      return [Math.max(since, flags.gas.since) + PARKED_MS];
    case 'vent':
      return isDead(flags) ? [Math.max(since, flags.venting.since) + STALLED_MS] : [];
    case 'vent-delay':
      return [since + STALLED_MS, since + LEAK_TEST_MS, stoppedAt(since, flags) + STALLED_MS];
    default:
      return [];
  }
}

/** What follows for the sequence's own memory when a phase begins. */
export function entered(sequence: Sequence, { phase, at }: Boundary): Sequence {
  const since = Math.max(at, sequence.since);
  const { lit, inRun, fluorinated, phase: before } = sequence;
  if (phase === 'pump-down') return { phase, since, before, lit: false, inRun: true, fluorinated: false };
  if (phase === 'plasma') return { phase, since, before, lit: true, inRun: true, fluorinated };
  if (phase === 'gas-stabilisation') return { phase, since, before, lit, inRun: true, fluorinated };
  const over = AT_REST.includes(phase);
  return { phase, since, before, lit: lit && !over, inRun: inRun && !over, fluorinated: fluorinated && !over };
}

/** [PH9] The phase after a hole, from the flags as first seen and the phase before. */
export function phaseAfterHole(before: Phase, flags: Flags): Phase {
  if (isOn(flags.doorOpen)) return before === 'idle' || before === 'load' ? 'load' : 'unload';
  if (isOn(flags.rf)) return 'plasma';
  if (isOn(flags.pumping)) return pumpingAfterHole(before, flags);
  if (isOn(flags.venting)) return 'vent';
  if (flags.atmosphere.on === false)
    return before === 'purge' || before === 'vent' ? 'vent' : before === 'leak-test' || before === 'hold' ? before : 'vent-delay';
  return before === 'idle' || before === 'load' || before === 'unload' || before === 'parked' ? 'idle' : 'wait-unload';
}

function pumpingAfterHole(before: Phase, flags: Flags): Phase {
  if (before === 'hold' || (before === 'plasma' && isOn(flags.processGas))) return before;
  if (before === 'plasma' || before === 'purge' || before === 'vent') return isOn(flags.lowPressure) ? 'purge' : 'pump-down';
  if (isOn(flags.gas) && flags.lowPressure.on !== false) return 'gas-stabilisation';
  return before === 'parked' && isOn(flags.lowPressure) ? 'parked' : 'pump-down';
}

const isOn = (flag: Flag): boolean => flag.on === true;
const isOff = (flag: Flag): boolean => flag.on === false;
const to = (phase: Phase, at: number): Boundary => ({ phase, at, source: 'signal' });
const after = (from: number, waitMs: number, phase: Phase, now: number): Boundary | null => (now >= from + waitMs ? to(phase, from) : null);

const burning = ({ rf }: Flags): Boundary | null => (isOn(rf) ? to('plasma', rf.since) : null);
const vented = ({ venting }: Flags): Boundary | null => (isOn(venting) ? to('vent', venting.since) : null);
const closed = ({ pumping }: Flags): Boundary | null => (isOff(pumping) ? to('vent-delay', pumping.since) : null);
/** Nothing is pumped down with the vent valve open. */
const repumped = ({ pumping, doorOpen, venting }: Flags): Boundary | null =>
  isOn(pumping) && !isOn(doorOpen) && !isOn(venting) ? to('pump-down', Math.max(pumping.since, doorOpen.since)) : null;

/** [PH8] [PH1] */
function atAtmosphere(phase: Phase, since: number, flags: Flags): Boundary | null {
  const pumping = repumped(flags);
  // A valve that stuck open through the vent begins no new run.
  if (pumping && pumping.at >= since) return pumping;
  const open = isOn(flags.doorOpen);
  if (phase === 'idle') return open ? to('load', flags.doorOpen.since) : null;
  if (phase === 'wait-unload') return open ? to('unload', flags.doorOpen.since) : null;
  return open ? null : to('idle', flags.doorOpen.since);
}

/** [PH2] [PH7] */
function fromPumpDown(since: number, flags: Flags, now: number): Boundary | null {
  const { gas, lowPressure } = flags;
  const stabilising = isOn(gas) && lowPressure.on !== false;
  if (stabilising) return to('gas-stabilisation', Math.max(gas.since, lowPressure.on === null ? 0 : lowPressure.since, since));
  return burning(flags) ?? vented(flags) ?? closed(flags) ?? parked(Math.max(since, lowPressure.since), flags, now);
}

/** [PH7] */
function parked(from: number, { gas, lowPressure, pumping }: Flags, now: number): Boundary | null {
  return isOn(lowPressure) && isOn(pumping) && !isOn(gas) ? after(from, PARKED_MS, 'parked', now) : null;
}

/** [PH3] [PH4] */
function fromPlasma(flags: Flags, now: number): Boundary | null {
  const { rf, processGas } = flags;
  if (!isOff(rf)) return null;
  const { pumping, venting } = flags;
  const endAt = plasmaEnd(flags);
  if (isOff(pumping) && pumping.since < rf.since + TOGETHER_MS) return to('vent-delay', rf.since);
  if (isOff(pumping) || isOn(venting)) return to('purge', Math.min(endAt, isOff(pumping) ? pumping.since : venting.since));
  if (isOn(processGas)) return after(rf.since, HOLD_MS, 'hold', now);
  return now >= rf.since + PAUSE_MS ? to('purge', endAt) : null;
}

/** [PH3] A recipe that was stopped in a pause called for power until then. */
function plasmaEnd({ rf, rfCalled }: Flags): number {
  return isOff(rfCalled) && rfCalled.since > rf.since + TOGETHER_MS ? rfCalled.since : rf.since;
}

/** [PH10] Pump stopped and every valve shut under vacuum. */
const isDead = ({ venting, pumping, pumpStopped, atmosphere }: Flags): boolean =>
  isOff(venting) && isOff(pumping) && isOn(pumpStopped) && isOff(atmosphere);

/** [PH4] [PH10] With the pump valve shut nothing but a vent, a new pump-down or the door ends it. */
function fromHold(since: number, flags: Flags, now: number, inRun: boolean): Boundary | null {
  const { processGas, pumping } = flags;
  if (isOff(pumping) && pumping.since < since + TOGETHER_MS) return vented(flags) ?? back(flags, inRun);
  const next = burning(flags) ?? vented(flags) ?? (isOff(pumping) ? closed(flags) : pumping.since > since ? repumped(flags) : null);
  return next ?? (isOff(processGas) && processGas.since > since ? after(processGas.since, PAUSE_MS, 'purge', now) : null);
}

/** [PH5] [PH6] [PH10] */
function fromVentDelay({ since, before, lit, inRun }: Sequence, flags: Flags, now: number): Boundary | null {
  const next = vented(flags) ?? repumped(flags) ?? back(flags, inRun);
  if (next || flags.atmosphere.on === true || isOn(flags.gas)) return next;
  const restful = !lit && flags.lowPressure.on !== false && !isOn(flags.pumpStopped) && (before === 'pump-down' || before === 'parked');
  if (restful) return after(since, LEAK_TEST_MS, 'leak-test', now);
  if (WORKING.includes(before)) return after(since, STALLED_MS, 'hold', now);
  return before === 'purge' && isOn(flags.pumpStopped) ? after(stoppedAt(since, flags), STALLED_MS, 'hold', now) : null;
}

/** [PH10] When valve and pump went by one cause, that is one moment. */
const stoppedAt = (since: number, { pumpStopped }: Flags): number => (pumpStopped.since > since + AT_ONCE_MS ? pumpStopped.since : since);

/** [PH5] Back at atmosphere; the door open says so too. */
function back({ atmosphere, doorOpen, pumping }: Flags, inRun: boolean): Boundary | null {
  if (isOn(pumping) && !isOn(atmosphere)) return null;
  if (isOn(doorOpen)) return to(inRun ? 'unload' : 'load', doorOpen.since);
  return isOn(atmosphere) ? to(inRun ? 'wait-unload' : 'idle', atmosphere.since) : null;
}
