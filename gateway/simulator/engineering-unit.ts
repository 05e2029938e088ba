/**
 * OPC UA EUInformation for the units our controllers word on their screens. OPC 10000-8 clause 5.6.4.3: unitId is the UNECE code read as
 * big-endian bytes; -1 where the code list has no such unit (mTorr, sccm and percent are absent from the list).
 */
/** As the library takes it. */
export type EngineeringUnit = {
  readonly namespaceUri: string;
  readonly unitId: number;
  readonly displayName: { readonly text: string };
  readonly description: { readonly text: string };
};

const UNECE = 'http://www.opcfoundation.org/UA/units/un/cefact';

type Unit = readonly [code: string | null, symbol: string, description: string];

const UNITS: Readonly<Record<string, Unit>> = {
  Pa: ['PAL', 'Pa', 'pascal'],
  hPa: ['A97', 'hPa', 'hectopascal'],
  kPa: ['KPA', 'kPa', 'kilopascal'],
  mbar: ['MBR', 'mbar', 'millibar'],
  bar: ['BAR', 'bar', 'bar'],
  Torr: ['UA', 'Torr', 'torr'],
  mTorr: [null, 'mTorr', 'millitorr'],
  sccm: [null, 'sccm', 'standard cubic centimetre per minute'],
  slm: [null, 'slm', 'standard litre per minute'],
  W: ['WTT', 'W', 'watt'],
  kW: ['KWT', 'kW', 'kilowatt'],
  V: ['VLT', 'V', 'volt'],
  A: ['AMP', 'A', 'ampere'],
  Hz: ['HTZ', 'Hz', 'hertz'],
  MHz: ['MHZ', 'MHz', 'megahertz'],
  degC: ['CEL', '°C', 'degree Celsius'],
  K: ['KEL', 'K', 'kelvin'],
  ms: ['C26', 'ms', 'millisecond'],
  s: ['SEC', 's', 'second'],
  min: ['MIN', 'min', 'minute'],
  h: ['HUR', 'h', 'hour'],
  'L/min': ['L2', 'l/min', 'litre per minute'],
  '%': [null, '%', 'percent'],
  percent: [null, '%', 'percent'],
  '1': ['C62', '', 'one'],
};

/** A unit nobody listed keeps the controller's own word and no code: a client must still be able to read it. */
export function engineeringUnit(word: string): EngineeringUnit {
  const [code, symbol, description] = UNITS[word] ?? [null, word, word];
  return {
    namespaceUri: UNECE,
    unitId: code === null ? -1 : unitId(code),
    displayName: { text: symbol },
    description: { text: description },
  };
}

function unitId(code: string): number {
  return [...code].reduce((id, letter) => id * 256 + letter.charCodeAt(0), 0);
}
