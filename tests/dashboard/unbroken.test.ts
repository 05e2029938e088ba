import { expect, test } from 'vitest';
import { textParts } from '../../dashboard/unbroken.ts';

const whole = (text: string): string[] => textParts(text).flatMap((part) => (part.isWhole ? [part.text] : []));

test('names with hyphens stay whole, with the mark that follows them, and no letter is lost', () => {
  const text = 'Nothing shifted: PC-05, PC-06 with ETB-RF-43. It took -3 s – or 14-16 min.';
  expect(whole(text)).toEqual(['PC-05,', 'PC-06', 'ETB-RF-43.', '14-16']);
  expect(
    textParts(text)
      .map((part) => part.text)
      .join(''),
  ).toBe(text);
});

test('a word too long for a line may break, and a text without hyphens is one part', () => {
  expect(whole(`a${'-b'.repeat(40)}`)).toEqual([]);
  expect(textParts('no hyphen here')).toEqual([{ text: 'no hyphen here', isWhole: false }]);
  expect(textParts('')).toEqual([]);
});
