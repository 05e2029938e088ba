import { expect, test } from 'vitest';
import { escapedHtml, latinLine, oneLine } from '../../src/inert-text.ts';

test('[OL1] controls, direction marks, line separators and halves of letters become one space', () => {
  expect(oneLine(' RF\r\n\u0000fault\u202e\u200bat\u2028once \ud83d')).toBe('RF fault at once');
  // Letters of any script and whole pairs stay.
  expect(oneLine('Kühlung 冷却 🔥')).toBe('Kühlung 冷却 🔥');
});

test('[OL2] only printable Latin letters stay', () => {
  expect(latinLine('CN=Prüfstand\nО=Κ\u202eplc')).toBe('CN=Prüfstand = plc');
});

test('[OL3] what is too long ends with an ellipsis, and never with half a letter', () => {
  expect([oneLine('pressure', 8), oneLine('pressures', 8), latinLine('pressures', 4)]).toEqual(['pressure', 'pressur…', 'pre…']);
  expect(oneLine('abc🔥🔥', 5)).toBe('abc…');
  expect(oneLine('abcd', 0)).toBe('…');
});

test('[OL4] nothing in it is markup', () => {
  expect(escapedHtml(`<a href="x" id='y'>&amp;`)).toBe('&lt;a href=&quot;x&quot; id=&#39;y&#39;&gt;&amp;amp;');
});
