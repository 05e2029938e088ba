/**
 * What a shift of one figure most often means by itself: advice for shifts whose pattern names no cause, so that nobody is left without a first check.
 * [DU1] A rise of rate of rise, base pressure or tail is first of all a gas load: a leak, moisture, or the pump's ultimate pressure. Every figure has its
 *       own usual cause upwards or downwards, or none; a figure that went the better way has none. (Trade practice, no source.)
 * [DU2] It is said to be what this usually is, never what the pattern points to.
 */
type UsualCause = { readonly cause: string; readonly firstCheck: string };

const GAS_LOAD: UsualCause = {
  cause: 'a leak, a wet load or the pump’s ultimate pressure',
  firstCheck: 'Check with a leak test and an empty run: a straight rise is a leak, one that flattens is moisture.',
};
const PUMP_SPEED: UsualCause = {
  cause: 'less pump speed',
  firstCheck: 'Check belt, inlet screen and oil level of the rotary pump, and that the Roots pump turns.',
};

const UP: Readonly<Record<string, UsualCause>> = {
  'rate-of-rise': {
    cause: 'a leak, or moisture after wet loads or an open chamber',
    firstCheck:
      'Check the shape of the rise: straight is a leak (door seal, feedthroughs, vent valve seat), one that flattens is moisture.',
  },
  'base-pressure': GAS_LOAD,
  'pump-down-tail': GAS_LOAD,
  'empty-tail': GAS_LOAD,
  'pump-down': PUMP_SPEED,
  'pump-down-first': PUMP_SPEED,
  'pump-down-middle': PUMP_SPEED,
  'plasma-pressure': {
    cause: 'a leak, less pump speed or a flow controller that delivers more than it shows',
    firstCheck: 'Check with a leak test, then each flow controller against a reference.',
  },
};
const DOWN: Readonly<Record<string, UsualCause>> = {
  'plasma-pressure': {
    cause: 'a flow controller that delivers less than it shows, or a low gas supply',
    firstCheck: 'Check the supply pressures, then each flow controller against a reference.',
  },
};

/** [DU1] Null where a shift that way has no usual cause. */
export function usualCause(figure: string, change: number): UsualCause | null {
  const known = change > 0 ? UP : DOWN;
  return Object.hasOwn(known, figure) ? (known[figure] as UsualCause) : null;
}

/** [DU2] What to say of a shift whose pattern names no cause. */
export const noPatternText = (usual: UsualCause | null): string =>
  usual === null ? 'It fits no pattern we know.' : `Its pattern names no single cause; by itself this is most often ${usual.cause}.`;
