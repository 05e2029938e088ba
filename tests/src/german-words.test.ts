/** German trade words, from memory; what they mean in English is the trade's, not ours. */
import { expect, test } from 'vitest';
import { inEnglish, withoutUmlauts } from '../../src/german-words.ts';

test('[GW1] listed words and abbreviations are told in English, two neighbours together where they make one', () => {
  expect(inEnglish(['druck', 'ist'])).toEqual(['pressure', 'actual']);
  expect(inEnglish(['betr', 'art'])).toEqual(['operating', 'mode']);
  expect(inEnglish(['hf', 'vorw', 'soll'])).toEqual(['rf', 'forward', 'setpoint']);
});

test('[GW2] a word put together of listed words is told as all of them', () => {
  expect(inEnglish(['hauptventil'])).toEqual(['main', 'valve']);
  expect(inEnglish(['kammerdruck'])).toEqual(['chamber', 'pressure']);
  expect(inEnglish(['belueftungsventil'])).toEqual(['vent', 'valve']);
  expect(inEnglish(['drehschieberpumpe'])).toEqual(['pump', 'rotary']);
  expect(inEnglish(['sammelstoerung'])).toEqual(['collective', 'fault']);
  expect(inEnglish(['vorwaertsleistung'])).toEqual(['forward', 'power']);
  expect(inEnglish(['reflektierte', 'wander'])).toEqual(['reflected']);
});

test('[GW3] other words, English ones among them, say nothing; umlauts are their two letters', () => {
  expect(inEnglish(['list', 'exist', 'laststep', 'flow', 'austin', 'gasket', 'losses', 'einzel'])).toEqual([]);
  expect(withoutUmlauts('Tür Größe Wälz')).toBe('Tuer Groesse Waelz');
  expect(withoutUmlauts('Tu\u0308r')).toBe('Tuer');
});
