/** What may happen, each as one act of a random course: operators, line, bench, the host's death. */
import fc from 'fast-check';
import { hostCommandLine } from '../../../shared-core/line/host-encoder.ts';
import type { LineState } from './model-line.ts';
import type { ModelStand } from './model-stand.ts';

export interface Act {
  readonly name: string;
  do(stand: ModelStand): void;
}

const page = fc.integer({ min: 0, max: 1 });

function act(name: string, does: (stand: ModelStand) => void): fc.Arbitrary<Act> {
  return fc.constant({ name, do: does });
}

function onPage(name: string, does: (stand: ModelStand, page: number) => void): fc.Arbitrary<Act> {
  return page.map((which) => ({ name: `${name} (page ${which})`, do: (stand) => does(stand, which) }));
}

/** Whole ways, so that courses get beyond a locked panel. */
export function goLive(stand: ModelStand): void {
  const { host } = stand;
  if (host === null) return;
  const seat = host.pages.find((each) => each.isOpen);
  if (seat === undefined) return;
  host.unlockFirst(seat);
  host.unlockSecond(seat);
  stand.pass(40);
  stand.supply(true);
  stand.pass(40);
}

export function crank(stand: ModelStand): void {
  goLive(stand);
  const seat = stand.host?.pages.find((each) => each.isOpen);
  stand.ignition(true);
  stand.pass(40);
  if (seat !== undefined) stand.host?.press(seat);
  stand.pass(260);
}

/** As an engine that was started at the stand and is taken over from here. */
export function run(stand: ModelStand): void {
  stand.byHand(() => {
    const { outputs } = stand.bench;
    for (const name of ['fan', 'supply', 'servo', 'ignition'] as const) outputs.setSwitch(name, true);
    stand.bench.drive();
    stand.plant.startWarm(0, stand.plant.rig.engine.idleSpeed_rpm);
  });
  stand.pass(1500);
  goLive(stand);
  stand.ignition(true);
  stand.pass(60);
}

const seatOf = (stand: ModelStand) => stand.host?.pages.find((each) => each.isOpen);

/** What takes back an order that may not have arrived. */
const regrets: Readonly<Record<string, (stand: ModelStand) => void>> = {
  'ignition off': (s) => s.ignition(false),
  'supply off and on': (s) => {
    s.supply(false);
    s.supply(true);
  },
  lock: (s) => s.host?.outputs.setLive(false, 'by operator 2'),
  'lock, and live again': (s) => {
    s.host?.outputs.setLive(false, 'by operator 2');
    s.pass(30);
    goLive(s);
  },
  'page gone': (s) => {
    const seat = seatOf(s);
    if (seat === undefined) return;
    s.host?.losePage(seat);
    s.host?.openPage(seat);
    s.pass(600);
  },
  'advisory raised': (s) => {
    s.host?.acquisition.operator('operator 1', { kind: 'raise-advisory', cause: 'fire' });
  },
  release: (s) => {
    const seat = seatOf(s);
    if (seat !== undefined) s.host?.release(seat);
  },
};

/** The bench hears nothing for a moment, an order goes out into it, and is taken back as soon as it hears again. */
const lostAndRegretted: fc.Arbitrary<Act> = fc
  .record({
    order: fc.constantFrom('ignition', 'press'),
    deaf_ms: fc.constantFrom(5, 40, 120, 300),
    regret: fc.constantFrom(...Object.keys(regrets)),
  })
  .map(({ order, deaf_ms, regret }) => ({
    name: `${order}, lost for ${deaf_ms} ms, then ${regret}`,
    do: (s) => {
      const before = s.line.state;
      s.line.set({ ...before, lossToBench: 1 });
      const seat = seatOf(s);
      if (order === 'ignition') s.ignition(true);
      else if (seat !== undefined) s.host?.press(seat);
      s.pass(deaf_ms);
      s.line.set(before);
      regrets[regret]!(s);
      s.pass(400);
    },
  }));

/** Its answer is lost, and the bench has sixteen others to remember before it is said again. */
function answerLost(stand: ModelStand): void {
  const before = stand.line.state;
  stand.line.set({ ...before, lossToBench: 0, lossToHost: 1 });
  stand.host?.outputs.command('operator 1', { name: 'FAN', on: true });
  throttleSteps(stand, 20);
  stand.pass(200);
  stand.line.set(before);
  stand.pass(400);
}

function throttleSteps(stand: ModelStand, count: number): void {
  for (let i = 1; i <= count; i++) stand.host?.outputs.command('operator 2', { name: 'THROTTLE', permille: i });
}

/** The hand stays on the button. */
function cageOpensWhileHeld(stand: ModelStand): void {
  const seat = seatOf(stand);
  if (seat !== undefined) stand.host?.press(seat);
  stand.pass(60);
  stand.bench.outputs.isCageClosed = false;
  stand.pass(600);
  stand.bench.outputs.isCageClosed = true;
  stand.pass(600);
}

/** All that is said of the release is lost, the lease given back is not. */
function lockedUnheard(stand: ModelStand): void {
  const { host } = stand;
  const before = stand.line.state;
  stand.line.set({ ...before, lossToBench: 1 });
  host?.outputs.setLive(false, 'by operator 2');
  stand.line.set({ ...before, lossToBench: 0 });
  stand.pass(120);
  stand.line.set(before);
}

/** Both pages hidden, or closed. */
function nobodyWatches(stand: ModelStand, isGone: boolean): void {
  for (const seat of stand.host?.pages ?? []) {
    if (isGone) stand.host?.losePage(seat);
    else stand.host?.see(seat, false);
  }
  stand.pass(3100);
  const first = stand.host?.pages[0];
  if (first !== undefined) stand.host?.openPage(first);
}

function advisoryWhileHeld(stand: ModelStand): void {
  const seat = seatOf(stand);
  if (seat !== undefined) stand.host?.press(seat);
  stand.pass(120);
  regrets['advisory raised']!(stand);
  stand.pass(500);
}

/** A press that is lost, and whose page falls silent before the bench hears again. */
function pressLostPageGone(stand: ModelStand): void {
  const before = stand.line.state;
  const seat = seatOf(stand);
  if (seat === undefined) return;
  stand.line.set({ ...before, lossToBench: 1 });
  stand.host?.press(seat);
  seat.isFrozen = true;
  stand.pass(650);
  stand.line.set(before);
  stand.pass(900);
  seat.isFrozen = false;
  seat.press = null;
}

const seatActs: readonly { weight: number; arbitrary: fc.Arbitrary<Act> }[] = [
  { weight: 3, arbitrary: act('live and supply on', goLive) },
  { weight: 5, arbitrary: act('live, ignition on, cranking', crank) },
  { weight: 5, arbitrary: lostAndRegretted },
  { weight: 2, arbitrary: act('fan on, its answer lost, twenty throttle steps', answerLost) },
  { weight: 2, arbitrary: act('cage opened and closed while held', cageOpensWhileHeld) },
  { weight: 1, arbitrary: act('both pages hidden', (s) => nobodyWatches(s, false)) },
  { weight: 1, arbitrary: act('both pages closed', (s) => nobodyWatches(s, true)) },
  { weight: 2, arbitrary: act('advisory raised while held', advisoryWhileHeld) },
  { weight: 2, arbitrary: act('press lost, page frozen', pressLostPageGone) },
  { weight: 2, arbitrary: act('locked, first lines lost', lockedUnheard) },
  { weight: 1, arbitrary: onPage('unlock, first step', (s, p) => s.host?.unlockFirst(s.host.pages[p]!)) },
  { weight: 1, arbitrary: onPage('unlock, second step', (s, p) => s.host?.unlockSecond(s.host.pages[p]!)) },
  { weight: 2, arbitrary: act('lock', (s) => s.host?.outputs.setLive(false, 'by operator 1')) },
  { weight: 3, arbitrary: act('ignition on', (s) => s.ignition(true)) },
  { weight: 2, arbitrary: act('ignition off', (s) => s.ignition(false)) },
  { weight: 2, arbitrary: act('supply on', (s) => s.supply(true)) },
  { weight: 1, arbitrary: act('supply off', (s) => s.supply(false)) },
  { weight: 3, arbitrary: onPage('press', (s, p) => s.host?.press(s.host.pages[p]!)) },
  { weight: 3, arbitrary: onPage('release', (s, p) => s.host?.release(s.host.pages[p]!)) },
  { weight: 1, arbitrary: onPage('hide', (s, p) => s.host?.see(s.host.pages[p]!, false)) },
  { weight: 1, arbitrary: onPage('show', (s, p) => s.host?.see(s.host.pages[p]!, true)) },
  { weight: 1, arbitrary: onPage('page gone', (s, p) => s.host?.losePage(s.host.pages[p]!)) },
  { weight: 1, arbitrary: onPage('page opened', (s, p) => s.host?.openPage(s.host.pages[p]!)) },
  {
    weight: 1,
    arbitrary: onPage('page frozen', (s, p) => {
      if (s.host !== null) s.host.pages[p]!.isFrozen = true;
    }),
  },
  {
    weight: 1,
    arbitrary: fc.integer({ min: 0, max: 1000 }).map((permille) => ({
      name: `throttle ${permille}`,
      do: (s) => void s.host?.outputs.command('operator 2', { name: 'THROTTLE', permille }),
    })),
  },
  {
    weight: 1,
    arbitrary: act('twenty throttle steps at once', (s) => throttleSteps(s, 20)),
  },
  {
    weight: 1,
    arbitrary: act('advisory raised', (s) => {
      s.host?.acquisition.operator('operator 1', { kind: 'raise-advisory', cause: 'fire' });
    }),
  },
  {
    weight: 1,
    arbitrary: act('advisories closed', (s) => {
      for (const { id } of s.host?.acquisition.pipeline.advisories ?? []) {
        s.host?.acquisition.operator('operator 1', { kind: 'advisory-close', advisoryId: id });
      }
    }),
  },
];

const share = fc.constantFrom(0, 0, 0.1, 0.4, 0.8, 1);
const lineState: fc.Arbitrary<LineState> = fc.record({
  delay_ms: fc.constantFrom(0, 0, 5, 20, 45, 150, 400),
  lossToBench: share,
  lossToHost: share,
  damage: fc.constantFrom(0, 0, 0.2, 1),
});

const lineActs: readonly { weight: number; arbitrary: fc.Arbitrary<Act> }[] = [
  {
    weight: 4,
    arbitrary: lineState.map((state) => ({ name: `line ${JSON.stringify(state)}`, do: (s) => s.line.set(state) })),
  },
  {
    weight: 2,
    arbitrary: act('line clean', (s) => s.line.set({ delay_ms: 0, lossToBench: 0, lossToHost: 0, damage: 0 })),
  },
  {
    weight: 1,
    arbitrary: fc
      .integer({ min: 1, max: 600 })
      .map((count) => ({ name: `garbage ${count}`, do: (s) => s.line.garbage(count, s.now_ms) })),
  },
  { weight: 1, arbitrary: act('unplug', (s) => s.plug(false)) },
  { weight: 2, arbitrary: act('plug', (s) => s.plug(true)) },
];

const benchActs: readonly { weight: number; arbitrary: fc.Arbitrary<Act> }[] = [
  {
    weight: 2,
    arbitrary: fc
      .tuple(fc.constantFrom<('IGNITION' | 'STARTER')[]>('IGNITION', 'STARTER'), fc.integer({ min: 0, max: 0xffff }))
      .map(([name, id]) => ({
        name: `a stranger without a lease asks for ${name}`,
        do: (s) => {
          const line = hostCommandLine('DEAD', id.toString(16).toUpperCase().padStart(4, '0'), { name, on: true });
          s.line.toBench(line, s.now_ms);
        },
      })),
  },
  { weight: 2, arbitrary: act('bench reboot', (s) => s.reboot()) },
  ...(['isStopClosed', 'isCageClosed'] as const).flatMap((key) =>
    [true, false].map((closed) => ({
      weight: 1,
      arbitrary: act(`${key} ${closed}`, (s) => {
        s.bench.outputs[key] = closed;
      }),
    })),
  ),
  {
    weight: 1,
    arbitrary: act('by hand: supply and ignition on', (s) =>
      s.byHand(() => {
        s.bench.outputs.setSwitch('supply', true);
        s.bench.outputs.setSwitch('ignition', true);
      }),
    ),
  },
  { weight: 1, arbitrary: act('by hand: starter button', (s) => s.byHand(() => s.bench.outputs.holdButton(true))) },
];

const hostActs: readonly { weight: number; arbitrary: fc.Arbitrary<Act> }[] = [
  { weight: 3, arbitrary: act('host killed', (s) => s.killHost()) },
  { weight: 3, arbitrary: act('host started', (s) => s.startHost()) },
  {
    weight: 1,
    arbitrary: fc
      .integer({ min: 30, max: 1500 })
      .map((for_ms) => ({ name: `host stands still for ${for_ms} ms`, do: (s) => s.stall(for_ms) })),
  },
];

/** One act and the time until the next. */
export const anyAct: fc.Arbitrary<Act> = fc.oneof(...seatActs, ...lineActs, ...benchActs, ...hostActs);
export const anyPause_ms: fc.Arbitrary<number> = fc.constantFrom(1, 7, 20, 60, 120, 240, 300, 400, 700, 1300, 3200);
