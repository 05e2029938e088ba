import { describe, expect, it } from 'vitest';
import { heldSeries } from '../../src/held-series.ts';

const window = { from: 100, to: 200 };

describe('a signal that is told when it changes', () => {
  it('[HS1] is a line where it was steady', () => {
    expect(heldSeries({ at: [10, 50], value: [1, 2] }, window)).toEqual({ at: [100, 200], value: [2, 2] });
  });

  it('[HS1] keeps its own points and gets none between them', () => {
    expect(heldSeries({ at: [50, 120, 150], value: [2, 3, 4] }, window)).toEqual({ at: [100, 120, 150, 200], value: [2, 3, 4, 4] });
  });

  it('[HS1] has no begin where nothing was known before', () => {
    expect(heldSeries({ at: [120], value: [3] }, window)).toEqual({ at: [120, 200], value: [3, 3] });
    expect(heldSeries({ at: [], value: [] }, window)).toEqual({ at: [], value: [] });
    expect(heldSeries({ at: [100], value: [3] }, window)).toEqual({ at: [100, 200], value: [3, 3] });
  });

  it('[HS2] holds nothing through a gap', () => {
    expect(heldSeries({ at: [10, 50, 120], value: [1, null, 5] }, window)).toEqual({ at: [120, 200], value: [5, 5] });
    expect(heldSeries({ at: [50, 120], value: [2, null] }, window)).toEqual({ at: [100, 120], value: [2, null] });
  });
});
