/**
 * The alarms of every chamber, in the trade's wording, with the delays their controllers use (s). The order is the bit order of the two
 * alarm words. Rates are activations per chamber and week on a healthy plant, for the alarms that come and go without further cause.
 */
export type AlarmEntry = {
  readonly code: string;
  readonly text: string;
  readonly severity: number;
  readonly onS: number;
  readonly offS: number;
  readonly rate: number;
  /** What follows: nothing, the run is aborted, or the chamber cannot run until somebody has put it right. */
  readonly effect: 'none' | 'stop' | 'down';
};
const entry = (
  code: string,
  text: string,
  severity: number,
  delays: readonly [number, number],
  rate = 0,
  effect: AlarmEntry['effect'] = 'none',
): AlarmEntry => ({
  code,
  text,
  severity,
  onS: delays[0],
  offS: delays[1],
  rate,
  effect,
});

export const ALARMS: readonly AlarmEntry[] = [
  entry('DOOR_NOT_CLOSED', 'Door not closed', 500, [1, 5], 0.5),
  entry('DOOR_SEAL_LEAK', 'Leak suspected, base not reached', 800, [0, 60], 0, 'down'),
  entry('PUMPDOWN_SLOW', 'Pump-down slower than normal', 200, [0, 5]),
  entry('PUMPDOWN_TIMEOUT', 'Base pressure not reached in time', 800, [0, 10], 0, 'stop'),
  entry('PUMP_FAULT', 'Vacuum pump tripped', 800, [0, 10], 0, 'down'),
  entry('ROOTS_NOT_RUNNING', 'Booster not running', 500, [5, 10]),
  entry('PUMP_OIL_TEMP_HIGH', 'Pump hot', 500, [30, 120], 0.4),
  entry('VALVE_NOT_IN_POSITION', 'Valve did not reach position', 500, [0, 3], 0.2, 'stop'),
  entry('PRESSURE_HIGH', 'Process pressure high', 500, [10, 10], 0.2),
  entry('PRESSURE_LOW', 'Process pressure low', 500, [10, 10], 0.1),
  entry('GAUGE_FAULT', 'Pressure gauge fault', 500, [0, 5], 0, 'down'),
  entry('FLOW_DEVIATION', 'Gas flow off set point', 500, [10, 10], 0.3),
  entry('MFC_FAULT', 'Flow controller fault', 800, [0, 5], 0, 'down'),
  entry('GAS_STAB_TIMEOUT', 'Gas did not stabilise', 500, [0, 5], 0.1, 'stop'),
  entry('GAS_SUPPLY_PRESSURE_LOW', 'Gas supply low', 200, [30, 60], 0.5),
  entry('N2_PRESSURE_LOW', 'House nitrogen low', 500, [10, 60], 0.1),
  entry('CDA_LOW', 'Compressed air low', 500, [5, 30], 0.15),
  entry('WATER_FLOW_LOW', 'Cooling water flow low', 800, [3, 10], 0.3),
  entry('WATER_TEMP_HIGH', 'Cooling water warm', 500, [60, 120], 0.1),
  entry('RF_REFL_HIGH', 'Reflected power high', 500, [2, 2], 0.5),
  entry('RF_REFL_TRIP', 'RF stopped, reflected too high', 800, [0, 10], 0.05, 'stop'),
  entry('NO_IGNITION', 'Plasma did not light', 800, [0, 10], 0.05, 'stop'),
  entry('RF_FAULT', 'RF generator fault', 800, [0, 5], 0, 'down'),
  entry('RF_POWER_LOW', 'Power below set point', 500, [10, 10], 0.2),
  entry('ARC_RATE_HIGH', 'Many arcs', 500, [0, 5], 0.1),
  entry('CHAMBER_TEMP_HIGH', 'Chamber too hot', 500, [20, 60], 0.3),
  entry('EXHAUST_FLOW_LOW', 'Exhaust flow low', 800, [5, 30], 0.1),
  entry('POWER_DIP', 'Supply dip detected', 500, [0, 10], 0, 'stop'),
  entry('CONTROLLER_RESTART', 'Controller restarted', 500, [0, 30], 0, 'down'),
  entry('WAITING_FOR_UNLOAD', 'Finished, waiting for unload', 100, [600, 0]),
  entry('PM_DUE', 'Maintenance due', 100, [0, 0]),
  entry('GAS_INTERLOCK', 'Gas shut by interlock', 800, [0, 5], 0, 'down'),
];

const alarmIndex = (code: string): number => {
  const index = ALARMS.findIndex((each) => each.code === code);
  if (index < 0) throw new Error(`no alarm ${code}`);
  return index;
};

/** By name, so that a misspelt code is a type error nowhere and a throw at load. */
export const ALARM = {
  door: alarmIndex('DOOR_NOT_CLOSED'),
  slow: alarmIndex('PUMPDOWN_SLOW'),
  pumpdownTimeout: alarmIndex('PUMPDOWN_TIMEOUT'),
  sealLeak: alarmIndex('DOOR_SEAL_LEAK'),
  pump: alarmIndex('PUMP_FAULT'),
  roots: alarmIndex('ROOTS_NOT_RUNNING'),
  valve: alarmIndex('VALVE_NOT_IN_POSITION'),
  pressureHigh: alarmIndex('PRESSURE_HIGH'),
  gauge: alarmIndex('GAUGE_FAULT'),
  flow: alarmIndex('FLOW_DEVIATION'),
  mfc: alarmIndex('MFC_FAULT'),
  stabilise: alarmIndex('GAS_STAB_TIMEOUT'),
  gasSupply: alarmIndex('GAS_SUPPLY_PRESSURE_LOW'),
  nitrogen: alarmIndex('N2_PRESSURE_LOW'),
  water: alarmIndex('WATER_FLOW_LOW'),
  waterTemperature: alarmIndex('WATER_TEMP_HIGH'),
  reflected: alarmIndex('RF_REFL_HIGH'),
  reflectedTrip: alarmIndex('RF_REFL_TRIP'),
  ignition: alarmIndex('NO_IGNITION'),
  rf: alarmIndex('RF_FAULT'),
  interlock: alarmIndex('GAS_INTERLOCK'),
  powerDip: alarmIndex('POWER_DIP'),
  restart: alarmIndex('CONTROLLER_RESTART'),
  waiting: alarmIndex('WAITING_FOR_UNLOAD'),
  maintenanceDue: alarmIndex('PM_DUE'),
} as const;
