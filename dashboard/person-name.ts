/** The name of whoever stands at this screen, remembered by this browser. */
const KEY = 'glowfleet.name';

export const personName = (): string => localStorage.getItem(KEY) ?? '';
export const rememberName = (name: string): void => localStorage.setItem(KEY, name);
