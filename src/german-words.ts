/**
 * What German controllers call things, in the English words of signal-words.ts: trade words and the abbreviations that programmers use, from memory,
 * no maker's naming. German puts words together, so a word is also cut into those it is made of.
 * [GW1] A word that is listed is told in English; so are two neighbours that make a listed word (`Betr`, `Art`).
 * [GW2] A word that is made wholly of listed words, joined by nothing, s, n, en or es, is told as all of theirs; the last may be bent.
 * [GW3] Any other word says nothing; umlauts are as good as their two letters.
 */

const WORDS: Readonly<Record<string, string>> = {
  ablauf: 'sequence',
  akt: 'actual',
  aktuell: 'actual',
  anpassung: 'match',
  anz: 'count',
  anzahl: 'count',
  argon: 'argon',
  atm: 'atm',
  atmosphaere: 'atmosphere',
  auf: 'open',
  aus: 'off',
  belueft: 'vent',
  belueftung: 'vent',
  bereit: 'ready',
  betrart: 'operating mode',
  betriebsart: 'operating mode',
  betriebsstunden: 'hours',
  betriebsstd: 'hours',
  betrstd: 'hours',
  bstd: 'hours',
  betrieb: 'running',
  bez: 'name',
  bezeichnung: 'name',
  charge: 'batch',
  chargen: 'batch',
  dauer: 'duration',
  deckel: 'lid',
  drehschieber: 'pump rotary',
  druck: 'pressure',
  durchfl: 'flow',
  durchfluss: 'flow',
  ein: 'on',
  elektrode: 'electrode',
  erreicht: 'reached',
  fehler: 'fault',
  fluss: 'flow',
  fluten: 'vent',
  gas: 'gas',
  gehaeuse: 'body',
  generator: 'generator',
  ges: 'total',
  gesamt: 'total',
  geschl: 'closed',
  geschlossen: 'closed',
  geoeffnet: 'open',
  grenze: 'limit',
  grenzwert: 'limit',
  grob: 'rough',
  haupt: 'main',
  hf: 'rf',
  hochfrequenz: 'rf',
  hoch: 'high',
  ist: 'actual',
  istwert: 'actual',
  kammer: 'chamber',
  kuehl: 'cooling',
  kuehlung: 'cooling',
  kw: 'cooling water',
  laeuft: 'running',
  lauf: 'running',
  lebensbit: 'heartbeat',
  lebenszaehler: 'heartbeat',
  lebenszeichen: 'heartbeat',
  leistung: 'power',
  leistg: 'power',
  lfd: 'running',
  los: 'lot',
  luft: 'air',
  masse: 'mass',
  massen: 'mass',
  messwert: 'actual',
  name: 'name',
  netz: 'supply',
  niedrig: 'low',
  nr: 'number',
  nummer: 'number',
  oel: 'oil',
  offen: 'open',
  programm: 'program',
  prozess: 'process',
  pumpe: 'pump',
  pumpen: 'pump',
  pump: 'pump',
  quitt: 'acknowledge',
  quittierung: 'acknowledge',
  reflektiert: 'reflected',
  regler: 'controller',
  rest: 'remaining',
  rezept: 'recipe',
  rezipient: 'chamber',
  rueck: 'reflected',
  ruecklauf: 'reflected',
  rueckw: 'reflected',
  rueckwaerts: 'reflected',
  sammel: 'collective',
  sauerstoff: 'oxygen',
  schalter: 'switch',
  schaltschrank: 'cabinet',
  schritt: 'step',
  schritte: 'steps',
  schrittkette: 'sequence',
  soll: 'setpoint',
  sollw: 'setpoint',
  sollwert: 'setpoint',
  spuel: 'purge',
  spuelung: 'purge',
  stand: 'system',
  std: 'hours',
  stickstoff: 'nitrogen',
  stoer: 'fault',
  stoerung: 'fault',
  stunden: 'hours',
  temp: 'temp',
  temperatur: 'temperature',
  tief: 'low',
  tuer: 'door',
  umgebung: 'ambient',
  vak: 'vacuum',
  vakuum: 'vacuum',
  ventil: 'valve',
  ventile: 'valve',
  verstrichen: 'elapsed',
  vorgabe: 'setpoint',
  vorlaufleistung: 'forward power',
  vorvak: 'foreline',
  vorvakuum: 'foreline',
  vordruck: 'supply pressure',
  vorw: 'forward',
  vorwaerts: 'forward',
  waelzkolben: 'roots',
  wand: 'wall',
  warn: 'warning',
  warnung: 'warning',
  wasser: 'water',
  wert: 'value',
  wort: 'word',
  zaehler: 'counter',
  zeit: 'time',
  zu: 'closed',
  zust: 'state',
  zustand: 'state',
  zyklen: 'cycles',
  zyklus: 'cycle',
};
const JOINTS = ['', 's', 'n', 'en', 'es'];
const ENDINGS = ['e', 'en', 'er', 'es'];
const SHORTEST_PART = 3;
/** An ending is believed on a word of this length: English has many short ones that end so. */
const SHORTEST_BENT = 5;
/** Too short or too common in other words to be trusted inside one. */
const ALONE = ['auf', 'aus', 'ein', 'akt', 'anz', 'atm', 'bez', 'ges', 'lfd', 'los', 'std'];

/** [GW3] */
export const withoutUmlauts = (text: string): string =>
  text
    .normalize('NFC')
    .replace(/ä/g, 'ae')
    .replace(/ö/g, 'oe')
    .replace(/ü/g, 'ue')
    .replace(/Ä/g, 'Ae')
    .replace(/Ö/g, 'Oe')
    .replace(/Ü/g, 'Ue')
    .replace(/ß/g, 'ss');

/** [GW1] [GW2] The English words behind those of a name, which come in its order and in small letters. */
export function inEnglish(words: readonly string[]): readonly string[] {
  const pairs = words.slice(1).map((word, i) => `${words[i]}${word}`);
  const whole = (text: string): readonly string[] => (Object.hasOwn(WORDS, text) ? (WORDS[text] as string).split(' ') : []);
  const told = [...pairs.flatMap(whole), ...words.flatMap((word) => (whole(word).length > 0 ? whole(word) : (partsOf(word) ?? [])))];
  return [...new Set(told)];
}

/** [GW2] The longest first part that leaves a rest which is made of parts too. */
function partsOf(word: string): readonly string[] | null {
  for (let cut = word.length; cut >= SHORTEST_PART; cut--) {
    const part = word.slice(0, cut);
    if (!Object.hasOwn(WORDS, part) || ALONE.includes(part)) continue;
    const own = (WORDS[part] as string).split(' ');
    const rest = word.slice(cut);
    if (rest === '' || (ENDINGS.includes(rest) && cut >= SHORTEST_BENT)) return own;
    for (const joint of JOINTS) {
      const others = rest.startsWith(joint) ? partsOf(rest.slice(joint.length)) : null;
      if (others !== null) return [...own, ...others];
    }
  }
  return null;
}
