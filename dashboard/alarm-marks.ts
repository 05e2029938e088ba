/** Upright lines in a chart where alarms came, the first of the episode in the ink of alarms and named. Under the values. */
import type { Plugin } from 'chart.js';

/** --act and --mark of page.css. */
const FIRST_INK = '#a81412';
const LATER_INK = '#857b6e';

export type AlarmMark = { readonly at: number; readonly isFirst: boolean };

export function alarmMarks(marks: readonly AlarmMark[], letterPx: number): Plugin<'line'> {
  return {
    id: 'alarms',
    beforeDatasetsDraw: ({ ctx, chartArea, scales }) => {
      const axis = scales['x'];
      if (axis === undefined) return;
      ctx.save();
      for (const { at, isFirst } of [...marks].sort((a, b) => Number(a.isFirst) - Number(b.isFirst))) {
        const x = axis.getPixelForValue(at);
        if (x < chartArea.left || x > chartArea.right) continue;
        const width = letterPx / (isFirst ? 6 : 14);
        ctx.fillStyle = isFirst ? FIRST_INK : LATER_INK;
        ctx.fillRect(x - width / 2, chartArea.top, width, chartArea.height);
      }
      ctx.restore();
    },
  };
}
