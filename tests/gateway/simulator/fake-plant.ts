/** A plant that says exactly what a test tells it to say, at the next beat. */
import type { FaultOrder, Plant, PlantSink, SimulatedChamber, SimulatedTag } from '../../../gateway/simulator/plant-port.ts';

export type FakePlant = Plant & { tell(what: (sink: PlantSink, now: number) => void): void; readonly orders: FaultOrder[] };

const tag = (path: string, type: SimulatedTag['type'], analog?: { unit: string; range: [number, number] }): SimulatedTag => ({
  path,
  type,
  unit: analog?.unit ?? null,
  range: analog?.range ?? null,
  description: `${path} of the test plant`,
});

/** Indexes in the list of tags below. */
export const PRESSURE = 0;
export const DOOR = 4;
export const WORD = 5;
export const COUNTER = 6;
export const RECIPE = 7;

export function fakeChamber(id: string, server: string, conditions: SimulatedChamber['conditions'] = []): SimulatedChamber {
  return {
    id,
    server,
    bay: 'Test',
    conditions,
    tags: [
      tag(`${id}/Chamber/Pressure`, 'Double', { unit: 'mTorr', range: [0, 760_000] }),
      tag(`${id}/Gas/1/Flow`, 'Double', { unit: 'sccm', range: [0, 500] }),
      tag(`${id}/RF/Forward`, 'Double', { unit: 'W', range: [0, 3000] }),
      tag(`${id}/Chamber/Temperature`, 'Double', { unit: 'degC', range: [0, 150] }),
      tag(`${id}/Chamber/DoorClosed`, 'Boolean'),
      tag(`${id}/Alarms/Word`, 'UInt32'),
      tag(`${id}/Meters/Pulses`, 'UInt64'),
      tag(`${id}/Recipe/Name`, 'String'),
    ],
  };
}

export function fakePlant(chambers: readonly SimulatedChamber[], at: number): FakePlant {
  let said: ((sink: PlantSink, now: number) => void)[] = [];
  const orders: FaultOrder[] = [];
  const plant = {
    now: at,
    chambers,
    orders,
    tell: (what: (sink: PlantSink, now: number) => void) => void said.push(what),
    advance(to: number, sink: PlantSink) {
      plant.now = to;
      const saying = said;
      said = [];
      for (const what of saying) what(sink, to);
    },
    inject: (order: FaultOrder) => void orders.push(order),
    snapshot: () => ({ now: plant.now }),
  };
  return plant;
}
