/**
 * The words in a name that a programmer gave.
 * [DS8] German words and their usual abbreviations are read as English ones; a description is read where the name says nothing, and counts less.
 */
import { inEnglish, withoutUmlauts } from './german-words.ts';

/** Cut at capitals, digits and marks; letters with digits stand whole as well. */
export function wordsOf(text: string): readonly string[] {
  const words = withoutUmlauts(text)
    .replace(/([a-z0-9])([A-Z])/g, '$1 $2')
    .replace(/([A-Z]+)([A-Z][a-z])/g, '$1 $2')
    .toLowerCase()
    .split(/[^a-z0-9]+/)
    .filter(Boolean);
  return words.flatMap((word) => {
    const parts = word.match(/[a-z]+|\d+/g) ?? [];
    return parts.length > 1 ? [...parts, word] : [word];
  });
}

/** [DS8] The words with what they mean in English. */
export function termsOf(text: string): readonly string[] {
  const words = wordsOf(text);
  return [...words, ...inEnglish(words)];
}
