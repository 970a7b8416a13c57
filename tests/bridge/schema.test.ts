import { describe, expect, test } from 'vitest';
import type { Method, RendererMessage, Requests } from '../../shared-core/bridge/contract.ts';
import { parseHostMessage } from '../../shared-core/bridge/host-envelope.ts';
import { MOST_PART_BYTES, methods, parseRendererMessage } from '../../shared-core/bridge/schema.ts';
import { lapwing120 } from '../../shared-core/rig/lapwing.ts';
import { batchOf } from '../contracts/carrier.ts';

/** At least one good set of params per request; the type makes a forgotten request a compile error. */
const good: { [M in Method]: Requests[M]['params'][] } = {
  'source.ports': [{}],
  'source.use': [
    { kind: 'port', path: '/dev/ttyUSB0', baud: 115_200 },
    { kind: 'port', path: 'COM3', baud: 9600 },
    { kind: 'port', path: '/dev/ttyS1', baud: 9600, profile: true },
    { kind: 'simulator', scenario: 'demonstration', seed: 4_294_967_295, speed: 1 },
    { kind: 'none' },
  ],
  'rig.get': [{}],
  'rig.save': [{ sheet: lapwing120, by: 'engineer 1', change: 'CHT limits' }],
  'rig.versions': [{}],
  'rig.version': [{ version: 1 }],
  'rig.lines': [{ since: 0 }],
  'rig.sniff': [{ path: '/dev/ttyUSB0', baud: 115_200, seconds: 5 }],
  'sim.catalogue': [{}],
  'sim.fault': [
    { fault: 'cht-open', on: true },
    { fault: 'cht-open', on: true, options: { cylinder: 2, onset_s: 10 }, by: 'instructor' },
  ],
  'sim.speed': [{ speed: 0.1 }, { speed: 1000 }],
  'sim.pause': [{}],
  'sim.resume': [{}],
  'sim.checkpoint': [{}, { name: 'warm' }],
  'sim.rewind': [{ checkpoint: 'c1' }],
  'sim.act': [
    { by: 'trainee 1', action: { kind: 'prime' } },
    { by: 'trainee 1', action: { kind: 'stop-circuit', closed: false } },
  ],
  'train.lessons': [{}],
  'train.start': [
    { lesson: 'first-lesson', mode: 'guided', trainee: 'trainee 1' },
    { lesson: 'by-lot', mode: 'assessment', trainee: 'trainee 1', speed: 1, seed: 7 },
  ],
  'train.stop': [{ by: 'trainee 1' }],
  'train.debrief': [{ sessionId: 's1' }],
  'train.records': [{}],
  'train.export': [{}],
  'train.instructor': [{}],
  'train.seat': [{ by: 'instructor 1' }, { by: 'instructor 1', word: 'heron' }],
  operator: [
    { by: 'operator 1', action: { kind: 'acknowledge', alarmId: 'cht-high:cht1' } },
    { by: 'operator 1', action: { kind: 'acknowledge-all' } },
    { by: 'operator 1', action: { kind: 'reset-alarms' } },
    { by: 'operator 1', action: { kind: 'silence' } },
    { by: 'operator 1', action: { kind: 'shelve', alarmId: 'cht-high:cht1', reason: 'loose lead', for_min: 30 } },
    { by: 'operator 1', action: { kind: 'unshelve', alarmId: 'cht-high:cht1' } },
    { by: 'operator 1', action: { kind: 'out-of-service', alarmId: 'a', reason: 'probe broken' } },
    { by: 'operator 1', action: { kind: 'back-in-service', alarmId: 'a' } },
    { by: 'operator 1', action: { kind: 'raise-advisory', cause: 'fire' } },
    { by: 'operator 1', action: { kind: 'fasteners-locked' } },
    { by: 'operator 1', action: { kind: 'mark', text: 'smoke at the exhaust' } },
    { by: 'operator 1', action: { kind: 'advisory-step', advisoryId: 'overspeed@12000000', stepId: 'throttle' } },
    { by: 'operator 1', action: { kind: 'advisory-close', advisoryId: 'overspeed@12000000' } },
    { by: 'operator 1', action: { kind: 'checklist', itemId: 'cage', isDone: false } },
    { by: 'operator 1', action: { kind: 'checklist-override', reason: 'second start within the hour' } },
    { by: 'operator 1', action: { kind: 'capture-point', name: '4,000 rpm' } },
  ],
  'outputs.live': [{ by: 'operator 1', live: true }],
  'outputs.command': [
    { by: 'operator 1', command: { name: 'IDENTIFY' } },
    { by: 'operator 1', command: { name: 'THROTTLE', permille: 1000 } },
    { by: 'operator 1', command: { name: 'FAN', on: true } },
  ],
  'outputs.starter': [{ by: 'operator 1', held: true, press: 7 }],
  'page.seen': [{ seen: false }],
  'sessions.list': [{}, { includeBinned: true }],
  'sessions.keep': [{ id: '2026-01-31T10:00:00.000Z_1', keep: true }],
  'sessions.note': [{ id: 's1', note: '' }],
  'sessions.tags': [
    { id: 's1', tags: [] },
    { id: 's1', tags: ['endurance', 'carburettor 2'] },
  ],
  'sessions.bin': [{ id: 's1', binned: true }],
  'sessions.events': [{ id: 's1' }, { id: 's1', fromOrd: 0 }, { id: 's1', fromOrd: 3_600_000 }],
  'sessions.channels': [{ id: 's1' }],
  view: [{ session: 's1', channels: ['rpm', 'cht1'], from_us: -1, to_us: 1e12, pixels: 1200 }],
  'latency.shown': [{ change: 3, arrivedAt_epochMs: 1_764_000_000_000, shownAt_epochMs: 1_764_000_000_080 }],
  'backtest.start': [{ sessions: ['s1', 's2'], rules: [...lapwing120.rules] }],
  'backtest.cancel': [{ id: 'backtest-1' }],
  'backtest.result': [{ id: 'backtest-1' }],
  'replay.open': [{ id: 's1' }],
  'replay.play': [{ speed: 50 }, { speed: 200 }],
  'replay.pause': [{}],
  'replay.seek': [{ t_us: 0 }],
  'replay.close': [{}],
  'export.csv': [
    { id: 's1' },
    { id: 'a', options: { values: 'raw', channels: ['rpm'], from_us: 0, to_us: 1e6, rate_Hz: 'all' } },
  ],
  'export.parquet': [{ id: 'a' }, { id: 'a', options: { rate_Hz: 100 } }],
  'export.cancel': [{ id: 'a', kind: 'parquet' }],
  'export.report': [{ id: 's1' }],
  'export.session': [{ id: 's1' }],
  'sessions.verify': [{ id: 's1' }],
  'takein.begin': [{ name: 'Endurance, part 2.runstand', bytes: 378_000_000 }],
  'takein.part': [{ upload: 'taking-1', at: 262_144, part: new Uint8Array([1, 2, 3]) }],
  'takein.end': [{ upload: 'taking-1' }],
  'takein.cancel': [{ upload: 'taking-1' }],
};

describe('given a request of the contract', () => {
  test('when the schema names its requests, then they are those of the contract', () => {
    expect([...methods].sort()).toEqual(Object.keys(good).sort());
  });

  const cases = Object.entries(good).flatMap(([method, all]) => all.map((params) => ({ method, params })));
  test.each(cases)('$method with $params is taken as it is', ({ method, params }) => {
    const message = { type: 'request', id: 0, method, params } as RendererMessage;
    expect(parseRendererMessage(message)).toStrictEqual({ ok: true, value: message });
  });

  test.each(cases)('$method with $params and one field more is refused', ({ method, params }) => {
    const answer = parseRendererMessage({ type: 'request', id: 0, method, params: { ...params, extra: 1 } });
    expect(answer.ok).toBe(false);
  });
});

test.each([1, 1000])('given a credit of %i, then it is taken', (count) => {
  expect(parseRendererMessage({ type: 'credit', stream: 'replay', count }).ok).toBe(true);
});

const command = (inner: unknown) => request('outputs.command', { by: 'operator 1', command: inner });
const port = (change: object) => request('source.use', { kind: 'port', path: '/dev/ttyS0', baud: 9600, ...change });
const view = (change: object) =>
  request('view', { session: 's1', channels: ['rpm'], from_us: 0, to_us: 1, pixels: 100, ...change });

test.each([
  { what: 'nothing', message: undefined },
  { what: 'a number', message: 5 },
  { what: 'another type', message: { type: 'hello' } },
  { what: 'no credit', message: { type: 'credit', stream: 'live', count: 0 } },
  { what: 'a thousand and one credits', message: { type: 'credit', stream: 'live', count: 1001 } },
  { what: 'half a credit', message: { type: 'credit', stream: 'live', count: 0.5 } },
  { what: 'NaN credits', message: { type: 'credit', stream: 'live', count: NaN } },
  { what: 'credit for another stream', message: { type: 'credit', stream: 'past', count: 1 } },
  { what: 'a negative id', message: { type: 'request', id: -1, method: 'sessions.list', params: {} } },
  { what: 'a part that is no bytes', message: request('takein.part', { upload: 'a', at: 0, part: [1, 2] }) },
  { what: 'an empty part', message: request('takein.part', { upload: 'a', at: 0, part: new Uint8Array(0) }) },
  {
    what: 'a part that is too long',
    message: request('takein.part', { upload: 'a', at: 0, part: new Uint8Array(MOST_PART_BYTES + 1) }),
  },
  { what: 'an unknown request', message: request('sessions.drop', {}) },
  { what: 'a request named for something inherited', message: request('constructor', {}) },
  { what: 'a request named __proto__', message: request('__proto__', {}) },
  { what: 'no params', message: { type: 'request', id: 1, method: 'replay.seek' } },
  { what: 'a replay at 201 times', message: request('replay.play', { speed: 201 }) },
  { what: 'a seek to NaN', message: request('replay.seek', { t_us: NaN }) },
  { what: 'a seek to infinity', message: request('replay.seek', { t_us: Infinity }) },
  { what: 'throttle below none', message: command({ name: 'THROTTLE', permille: -1 }) },
  { what: 'throttle above full', message: command({ name: 'THROTTLE', permille: 1001 }) },
  { what: 'throttle NaN', message: command({ name: 'THROTTLE', permille: NaN }) },
  { what: 'throttle between steps', message: command({ name: 'THROTTLE', permille: 0.5 }) },
  { what: 'a command with a wrong argument', message: command({ name: 'IGNITION', permille: 5 }) },
  { what: 'an unknown command', message: command({ name: 'REBOOT' }) },
  { what: 'nobody', message: request('outputs.live', { by: '  ', live: true }) },
  { what: 'a path with a NUL', message: port({ path: '/dev/ttyS0\0x' }) },
  { what: 'an endless path', message: port({ path: 'x'.repeat(1025) }) },
  { what: 'a baud rate of 49', message: port({ baud: 49 }) },
  {
    what: 'a fault setting that is no number',
    message: request('sim.fault', { fault: 'a', on: true, options: { x: NaN } }),
  },
  { what: 'a mode of no lesson', message: request('train.start', { lesson: 'a', mode: 'easy', trainee: 'b' }) },
  { what: 'a trainee without a name', message: request('train.start', { lesson: 'a', mode: 'guided', trainee: ' ' }) },
  {
    what: 'a hand that there is not',
    message: request('sim.act', { by: 'a', action: { kind: 'throttle', percent: 50 } }),
  },
  { what: 'a speed of 0', message: request('sim.speed', { speed: 0 }) },
  { what: 'an identifier that climbs', message: request('export.csv', { id: '../../etc/passwd' }) },
  { what: 'an empty identifier', message: request('export.csv', { id: '' }) },
  { what: 'no pixel', message: view({ pixels: 0 }) },
  { what: 'too many pixels', message: view({ pixels: 8193 }) },
  { what: 'a channel that is none', message: view({ channels: ['rpm; drop'] }) },
  { what: 'too many channels', message: view({ channels: Array(129).fill('rpm') }) },
])('given $what, then it is refused in words', ({ message }) => {
  const answer = parseRendererMessage(message);
  expect(answer.ok).toBe(false);
  expect(answer).toHaveProperty('error', expect.stringMatching(/\w/));
});

describe('given a message from the host', () => {
  test.each([
    { type: 'hello', contract: 1, appVersion: '0.1.0', door: 'memory', notice: '' },
    { type: 'display', batch: batchOf([1, NaN]) },
    { type: 'reply', id: 3, result: { ok: false, error: { kind: 'busy', sentence: '', remedy: '' } } },
  ])('when it is a well-formed $type, then it is taken', (message) => {
    expect(parseHostMessage(message)).toStrictEqual({ ok: true, value: message });
  });

  test.each([
    { what: 'null', message: null },
    { what: 'an unknown type', message: { type: 'goodbye' } },
    { what: 'a hello without contract', message: { type: 'hello', notice: '' } },
    { what: 'a batch of plain arrays', message: { type: 'display', batch: { ...batchOf([1]), min: [1] } } },
    {
      what: 'a batch of uneven arrays',
      message: { type: 'display', batch: { ...batchOf([1]), max: new Float64Array(2) } },
    },
    { what: 'a batch of no stream', message: { type: 'display', batch: { ...batchOf([1]), stream: 'x' } } },
    { what: 'a reply without result', message: { type: 'reply', id: 1 } },
    { what: 'a layout without channels', message: { type: 'layout', layout: { stream: 'live', layoutVersion: 1 } } },
    {
      what: 'a snapshot without alarms',
      message: { type: 'snapshot', snapshot: { stream: 'live', layoutVersion: 1 } },
    },
  ])('when it is $what, then it is refused', ({ message }) => {
    expect(parseHostMessage(message).ok).toBe(false);
  });
});

function request(method: string, params: unknown): unknown {
  return { type: 'request', id: 1, method, params };
}
