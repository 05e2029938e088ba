/** Chance that is the same every time (a linear congruential generator with the constants of Numerical Recipes, 2nd ed., 7.1). */
export type Drawn = () => number;

export function fixedDice(seed: number): Drawn {
  let state = seed >>> 0;
  return () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return state / 2 ** 32;
  };
}
