import { expect, test } from 'vitest';
import { ServeFeed } from '../../../gateway/opcua/serve-feed.ts';
import type { ServeOrder } from '../../../gateway/opcua/serve-port.ts';
import type { WindowNumbers } from '../../../src/numbers.ts';
import { exampleFleet, exampleTile } from '../wire-examples.ts';

function feeding() {
  const sent: ServeOrder[] = [];
  const taken: (() => void)[] = [];
  let [rev, loads] = [1, 1];
  const fleet = () => exampleFleet({ rev, chambers: [exampleTile({ chamber: 'PC-01', reason: `change ${rev}` })] });
  const feed = new ServeFeed({
    view: { fleet, since: (seen) => (seen < 0 ? null : { ...fleet(), chambers: seen < rev ? fleet().chambers : [], strip: null }) },
    numbers: () => Promise.resolve([{ chamber: 'PC-01', loads: { completed: loads } } as WindowNumbers]),
    send: (order, done) => void (sent.push(order), taken.push(done)),
    log: (line) => expect.unreachable(line),
  });
  const told = () =>
    sent.map((order) =>
      order.type === 'tiles' ? order.tiles[0]?.reason : order.type === 'numbers' ? order.numbers[0]?.loads : order.type,
    );
  return {
    ...{ feed, told },
    change: () => (rev += 1),
    load: () => (loads += 1),
    take: () => taken.splice(0).forEach((done) => done()),
  };
}

test('what has not changed is not sent', async () => {
  const { feed, told, take } = feeding();
  await feed.count();
  take();
  feed.feed();
  expect(told()).toEqual(['change 1', { completed: 1 }]);
});

test('a process that takes nothing is sent nothing, and the newest of all when it takes again', async () => {
  const { feed, told, take, change, load } = feeding();
  await feed.count();
  for (let second = 0; second < 100; second++) {
    change();
    load();
    await feed.count();
  }
  expect(told()).toEqual(['change 1', { completed: 1 }]);
  take();
  feed.feed();
  expect(told().slice(2)).toEqual(['change 101', { completed: 101 }]);
});
