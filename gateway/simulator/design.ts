/**
 * How the chambers of Quellmoor Works are built and what they run. Trade units throughout: mTorr, L, L/s, sccm (0 °C), W, s, °C.
 * Numbers: trade knowledge, typical of batch chambers of three sizes; no maker's figures.
 */
export type SizeName = 'S' | 'M' | 'L';
export type Size = {
  readonly volumeL: number;
  /** Rotary pump alone, and booster in front of it, L/s. */
  readonly rotaryLs: number;
  readonly boosterLs: number;
  readonly rfMaxW: number;
  /** Line conductance in air: molecular part L/s, viscous part L/s per mTorr. */
  readonly molecularLs: number;
  readonly viscousLs: number;
  /** Heat loss W/K and heat capacity J/K of electrodes and walls. */
  readonly lossWK: number;
  readonly heatJK: number;
  readonly waterLmin: number;
};
export const SIZES: Readonly<Record<SizeName, Size>> = {
  S: { volumeL: 250, rotaryLs: 11, boosterLs: 42, rfMaxW: 1500, molecularLs: 15, viscousLs: 1.42, lossWK: 14, heatJK: 18e3, waterLmin: 4 },
  M: { volumeL: 450, rotaryLs: 22, boosterLs: 70, rfMaxW: 4000, molecularLs: 15, viscousLs: 1.42, lossWK: 26, heatJK: 43e3, waterLmin: 8 },
  L: { volumeL: 600, rotaryLs: 33, boosterLs: 139, rfMaxW: 5000, molecularLs: 40, viscousLs: 4.0, lossWK: 34, heatJK: 60e3, waterLmin: 12 },
};

/** Gas lines 1..4 of every chamber. The CF4 device is a nitrogen instrument: it shows nitrogen-equivalent flow, true flow = shown × factor. */
export const GASES = ['O2', 'CF4', 'N2', 'Ar'] as const;
export type GasDevice = { readonly fullScale: number; readonly factor: number };
export const GAS_DEVICES: readonly GasDevice[] = [
  { fullScale: 1500, factor: 1 },
  { fullScale: 1200, factor: 0.42 },
  { fullScale: 500, factor: 1 },
  { fullScale: 1500, factor: 1 },
];

export type Step = { readonly seconds: number; readonly power: number; readonly gas: readonly [number, number, number, number] };
export type Recipe = {
  readonly name: string;
  readonly steps: readonly Step[];
  /** Seconds without RF while the next step's gas comes in. */
  readonly pauseS: number;
  readonly service: boolean;
  /** Pump down, shut the chamber valve, watch the pressure: no gas, no RF. */
  readonly leakTestS: number;
};
const recipe = (name: string, pauseS: number, ...steps: Step[]): Recipe => ({ name, steps, pauseS, service: false, leakTestS: 0 });
const step = (seconds: number, power: number, o2: number, cf4: number, n2: number, ar: number): Step => ({
  seconds,
  power,
  gas: [o2, cf4, n2, ar],
});

export const RECIPES: Readonly<Record<string, Recipe>> = {
  'ACT-AR-07': recipe('ACT-AR-07', 0, step(420, 0.5, 0, 0, 0, 600)),
  'CLN-OA-10': recipe('CLN-OA-10', 0, step(600, 0.6, 500, 0, 0, 200)),
  'DSM-PI-25': recipe('DSM-PI-25', 0, step(240, 0.7, 600, 0, 150, 0), step(1080, 0.9, 700, 150, 80, 0), step(180, 0.6, 800, 0, 0, 0)),
  'DSM-EP-25': recipe('DSM-EP-25', 8, step(300, 0.7, 600, 0, 150, 0), step(1020, 0.85, 700, 130, 80, 0), step(180, 0.6, 800, 0, 0, 0)),
  'ETB-RF-43': recipe('ETB-RF-43', 12, step(240, 0.7, 600, 0, 150, 0), step(2100, 0.95, 700, 190, 60, 0), step(240, 0.6, 800, 0, 0, 0)),
  'CND-15': { ...recipe('CND-15', 0, step(900, 0.6, 700, 120, 0, 0)), service: true },
  'LKT-05': { ...recipe('LKT-05', 0), service: true, leakTestS: 300 },
};
export const recipeOf = (name: string): Recipe => {
  const known = RECIPES[name];
  if (known === undefined) throw new Error(`no recipe ${name}`);
  return known;
};
export const fluorinated = (recipe: Recipe): boolean => recipe.steps.some((each) => each.gas[1] > 0);

export const BASE_MTORR = 100;
export const PUMP_DOWN_LIMIT_S = 480;
export const PUMP_DOWN_SLOW_S = 240;
export const STABILISE_LIMIT_S = 90;
export const IGNITION_LIMIT_S = 12;
export const VENT_DELAY_S = 4;
export const purgeS = (recipe: Recipe): number => (fluorinated(recipe) ? 60 : 30);

export type Interface = 'boolean' | 'word' | 'condition';
export type ChamberDesign = {
  readonly index: number;
  readonly id: string;
  readonly bay: string;
  readonly server: string;
  readonly size: Size;
  readonly sizeName: SizeName;
  readonly recipes: readonly string[];
  /** Which cooling water loop it hangs on. */
  readonly loop: 'north' | 'south';
  readonly alarmsBy: Interface;
  /** No phase code and no recipe step tags: only signals tell what it does. */
  readonly silentSequence: boolean;
  readonly flowInPercent: boolean;
  readonly skewMs: number;
};

const DRILL = ['DSM-PI-25', 'DSM-EP-25', 'ETB-RF-43'];
const PANEL = ['DSM-EP-25', 'ETB-RF-43'];
const SURFACE = ['ACT-AR-07', 'CLN-OA-10'];

/** Chamber `index` of the hall. Beyond twelve the pattern of the three bays repeats, for trials of scale. */
export function chamberDesign(index: number): ChamberDesign {
  const place = index % 12;
  const bay = place < 4 ? 'Amber' : place < 10 ? 'Birch' : 'Cedar';
  const sizeName: SizeName = place < 4 ? 'S' : place < 10 ? 'M' : 'L';
  return {
    index,
    id: `PC-${String(index + 1).padStart(2, '0')}`,
    bay,
    server: place < 10 ? bay.toLowerCase() : `cedar-${place + 1}`,
    size: SIZES[sizeName],
    sizeName,
    recipes: place < 4 ? SURFACE : place < 10 ? DRILL : PANEL,
    loop: place < 6 ? 'north' : 'south',
    alarmsBy: place < 4 ? 'boolean' : place < 10 ? 'word' : 'condition',
    silentSequence: place === 3 || place === 8,
    flowInPercent: place === 7,
    skewMs: place === 10 ? -87_000 : 0,
  };
}
