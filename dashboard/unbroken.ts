/** Text cut where a line must not break: names such as PC-06 or ETB-RF-43 stay whole, very long ones may break after all. */
type TextPart = { readonly text: string; readonly isWhole: boolean };

const LONGEST = 20;

export function textParts(text: string): readonly TextPart[] {
  return text
    .split(/(\S*\w-\w\S*)/)
    .filter((part) => part !== '')
    .map((part) => ({ text: part, isWhole: /\w-\w/.test(part) && part.length <= LONGEST }));
}
