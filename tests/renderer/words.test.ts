import { describe, expect, test } from 'vitest';
import { diskWord, linkWord, recorderWord, screenWord } from '../../renderer/app/health.ts';
import { addressOf, parseAddress } from '../../renderer/app/places.ts';
import { parseSettings } from '../../renderer/app/settings.ts';
import { parseChoice } from '../../renderer/run/band-choice.ts';
import { itemState, openItems } from '../../renderer/run/checklist-state.ts';
import { commandWord } from '../../renderer/run/command-word.ts';
import { dutyWord, starterWord } from '../../renderer/run/duty-word.ts';
import { markText } from '../../renderer/run/mark-text.ts';
import { moved, shown_us, windowWord, zoomed } from '../../renderer/run/trend-window.ts';
import {
  formatAge,
  formatBytes,
  formatClock,
  formatNumber,
  primaryDecimals,
  struckDecimals,
} from '../../renderer/ui/format.ts';
import { scaleShape } from '../../renderer/ui/scale.ts';
import type { LinkHealth, RecorderHealth, SourceView } from '../../shared-core/bridge/contract.ts';
import { faultKinds, type LineCounts } from '../../shared-core/line/messages.ts';

describe('given a number for the screen', () => {
  test.each([
    { value: -12.345, decimals: 1, text: '\u221212.3' },
    { value: -0.04, decimals: 1, text: '0.0' },
    { value: 7132, decimals: 0, text: '7\u2009132' },
    { value: NaN, decimals: 1, text: '\u2013' },
  ])('when it is $value, then it is written $text', ({ value, decimals, text }) => {
    expect(formatNumber(value, decimals)).toBe(text);
  });
  test.each([
    { decimals: 0, high: 8000, shown: 0 },
    { decimals: 2, high: 500, shown: 1 },
    { decimals: 2, high: 15, shown: 2 },
    { decimals: 3, high: 0.5, shown: 3 },
    { decimals: 2, high: NaN, shown: 2 },
    { decimals: 2, high: 99_999, shown: 0 },
  ])(
    'when a primary value may reach $high, then $shown decimals keep it to four digits',
    ({ decimals, high, shown }) => {
      expect(primaryDecimals(decimals, high)).toBe(shown);
    },
  );
  test.each([
    { decimals: 1, value: 570.04, shown: 0 },
    { decimals: 1, value: 16.7, shown: 1 },
    { decimals: 2, value: -0.01, shown: 2 },
    { decimals: 3, value: 4.416, shown: 2 },
    { decimals: 2, value: 1013.25, shown: 0 },
    { decimals: 1, value: 0, shown: 1 },
    { decimals: 1, value: NaN, shown: 1 },
  ])('when $value is struck out on a line, then $shown decimals keep it to three digits', (each) => {
    expect(struckDecimals(each.decimals, each.value)).toBe(each.shown);
  });
});

describe('given a time for the screen', () => {
  test.each([
    { s: 0, text: '0:00' },
    { s: 59.99, text: '0:59' },
    { s: 60, text: '1:00' },
    { s: 3599, text: '59:59' },
    { s: 3600, text: '1:00:00' },
    { s: -1, text: '\u2013' },
    { s: NaN, text: '\u2013' },
  ])('when it is $s s, then the clock shows $text', ({ s, text }) => {
    expect(formatClock(s)).toBe(text);
  });
  test.each([
    { s: 0.42, text: '0.4\u2009s' },
    { s: 12.9, text: '12\u2009s' },
    { s: 185, text: '3:05' },
    { s: 7300, text: '2\u2009h' },
    { s: NaN, text: '\u2013' },
  ])('when a value is $s s old, then its age is $text', ({ s, text }) => {
    expect(formatAge(s)).toBe(text);
  });
  test.each([
    { bytes: 999, text: '999\u2009B' },
    { bytes: 1500, text: '1.5\u2009kB' },
    { bytes: 48e9, text: '48.0\u2009GB' },
    { bytes: 184e9, text: '184\u2009GB' },
    { bytes: NaN, text: '\u2013' },
  ])('when $bytes bytes are free, then it is $text', ({ bytes, text }) => {
    expect(formatBytes(bytes)).toBe(text);
  });
});

describe('given an address', () => {
  test.each([
    { hash: '', place: 'run', rest: [] },
    { hash: '#/rig', place: 'rig', rest: [] },
    { hash: '#/review/2026%2F1/12', place: 'review', rest: ['2026/1', '12'] },
    { hash: '#token=abc', place: 'run', rest: [] },
    { hash: '#/nowhere', place: 'run', rest: [] },
    { hash: '#/review/%E0%A4%A', place: 'review', rest: ['%E0%A4%A'] },
  ])('when it is $hash, then the place is $place', ({ hash, place, rest }) => {
    expect(parseAddress(hash)).toEqual({ place, rest });
  });
  test('when an address is made, then it is read as the same', () => {
    expect(parseAddress(addressOf('review', 'a/b c'))).toEqual({ place: 'review', rest: ['a/b c'] });
  });
});

describe('given stored settings', () => {
  test.each([null, '', 'no json', '[]', 'null', '7', '{"theme":"pink","by":"","hasKeys":"yes"}'])(
    'when they are %j, then the defaults hold',
    (text) => {
      expect(parseSettings(text)).toEqual({
        theme: 'day',
        by: 'operator 1',
        hasKeys: true,
        noticeRead: '',
        loudness: 0.5,
      });
    },
  );
  test('when they are good, then they are kept', () => {
    const stored = { theme: 'cell', by: 'operator 2', hasKeys: false, noticeRead: '1', loudness: 0.2 };
    expect(parseSettings(JSON.stringify(stored))).toEqual(stored);
  });
  test.each([null, 'x', '[]', '[1]', '{}'])('when the band choice is %j, then there is none', (text) => {
    expect(parseChoice(text)).toBeNull();
  });
});

describe('given starter duty', () => {
  const at_rest = { isEngaged: false, attempt_s: 0, left_s: 8, restLeft_s: 0 };
  test.each([
    { starter: null, word: '' },
    { starter: at_rest, word: 'ready, 8 s' },
    { starter: { ...at_rest, isEngaged: true, attempt_s: 0.2, left_s: 7.8 }, word: '8 s left' },
    { starter: { ...at_rest, isEngaged: true, attempt_s: 9, left_s: 0 }, word: '0 s left' },
    { starter: { ...at_rest, left_s: 0, restLeft_s: 102.3 }, word: 'rest 1:43' },
  ])('when it is $starter, then the word is "$word"', ({ starter, word }) => {
    expect(dutyWord(starter)).toBe(word);
  });
});

describe('given the words of a mark', () => {
  test.each([
    { text: '  lean at 3/4 ', words: 'lean at 3/4' },
    { text: '   ', words: 'Mark' },
  ])('when they are "$text", then the mark says "$words"', ({ text, words }) => {
    expect(markText(text)).toBe(words);
  });
});

describe('given a checklist item with an input', () => {
  const item = { id: 'cage', text: 'Cage closed', why: '', input: { key: 'cage', state: 1 } } as const;
  test.each([
    { done: [], input: 1, state: 'shown' },
    { done: [], input: 0, state: 'open-contradicted' },
    { done: [], input: 'X', state: 'open-contradicted' },
    { done: ['cage'], input: 1, state: 'done' },
    { done: ['cage'], input: 0, state: 'contradicted' },
    { done: ['cage'], input: 'X', state: 'contradicted' },
  ] as const)('when ticked is $done and the input is $input, then it is $state', ({ done, input, state }) => {
    expect(itemState(item, done, input)).toBe(state);
  });
  test.each([
    { value: 11.5, state: 'open-contradicted' },
    { value: 11.501, state: 'shown' },
    { value: NaN, state: 'open-contradicted' },
  ] as const)('when its channel is to be above 11.5 and reads $value, then it is $state', ({ value, state }) => {
    const battery = { id: 'b', text: '', why: '', channel: { key: 'supply_volt', is: 'above', value: 11.5 } } as const;
    expect(itemState(battery, [], null, value)).toBe(state);
  });
  test('when an input shows it but nobody ticked it, then it is still open', () => {
    expect(openItems({ stage: 'before-start', title: '', items: [item] }, [])).toEqual([item]);
  });
});

test.each([
  { command: { name: 'THROTTLE', permille: 0 }, word: 'Throttle closed' },
  { command: { name: 'THROTTLE', permille: 355 }, word: 'Throttle 35.5 %' },
  { command: { name: 'IGNITION', on: false }, word: 'Ignition off' },
  { command: { name: 'STARTER', on: true }, word: 'Starter held' },
] as const)('given $command, when it is told, then it is "$word"', ({ command, word }) => {
  expect(commandWord(command)).toBe(word);
});

describe('given the trend window', () => {
  const following = { span_s: 60, heldAt_us: null };
  test('when it follows, then its right edge is the newest', () => {
    expect(shown_us(following, 100e6)).toEqual({ from_us: 40e6, to_us: 100e6 });
  });
  test('when it is moved back, then it is held there, but not before the session', () => {
    expect(moved(following, -30e6, 100e6).heldAt_us).toBe(70e6);
    expect(moved(following, -500e6, 100e6).heldAt_us).toBe(60e6);
  });
  test('when it is moved past the newest, then it stands at the newest', () => {
    expect(moved({ ...following, heldAt_us: 90e6 }, 500e6, 100e6).heldAt_us).toBe(100e6);
  });
  test('when the session is shorter than the window, then it does not move', () => {
    expect(moved(following, -30e6, 20e6).heldAt_us).toBe(20e6);
  });
  test('when it is zoomed at its ends, then it stays', () => {
    expect(zoomed({ span_s: 30, heldAt_us: null }, 0.5).span_s).toBe(30);
    expect(zoomed({ span_s: 1800, heldAt_us: null }, 2).span_s).toBe(1800);
    expect(zoomed(following, 2).span_s).toBe(120);
  });
  test.each([
    { s: 30, word: '30 s' },
    { s: 1800, word: '30 min' },
  ])('when it is $s s long, then it is called $word', ({ s, word }) => {
    expect(windowWord(s)).toBe(word);
  });
});

describe('given a scale from 0 to 300 with a caution at 190 and an abort at 220', () => {
  const limits = [
    { channel: 'cht1', level: 'caution', direction: 'high', value: 190, title: '' },
    { channel: 'cht1', level: 'abort', direction: 'high', value: 220, title: '' },
  ] as const;
  test('when the value is 150, then the normal band ends at the caution and the notch is half way', () => {
    const shape = scaleShape(0, 300, limits, 150);
    expect(shape?.notch).toBe(0.5);
    expect(shape?.normalTo).toBeCloseTo(190 / 300, 12);
    expect(shape?.ticks).toHaveLength(2);
  });
  test.each([
    { value: NaN, notch: null },
    { value: 400, notch: 1 },
    { value: -20, notch: 0 },
  ])('when the value is $value, then the notch is at $notch', ({ value, notch }) => {
    expect(scaleShape(0, 300, limits, value)?.notch).toBe(notch);
  });
  test('when a limit lies beyond the range, then the scale reaches to it', () => {
    expect(scaleShape(0, 200, limits, 220)?.notch).toBe(1);
  });
  test('when the range is not known, then there is no scale', () => {
    expect(scaleShape(NaN, NaN, limits, 1)).toBeNull();
  });
});

describe('given the health of the link', () => {
  const counts: LineCounts = {
    accepted: 10,
    missing: 0,
    bytes: 10,
    faults: Object.fromEntries(faultKinds.map((k) => [k, 0])) as LineCounts['faults'],
  };
  const link: LinkHealth = {
    linesPerSecond: 110,
    bytesPerSecond: 9000,
    counts,
    loss_percent: 0,
    drift_ppm: NaN,
    silentFor_ms: 8,
    lastFault: null,
    hostLatency_ms: 3,
  };
  const source: SourceView = {
    kind: 'port',
    name: '/dev/ttyUSB0',
    state: 'open',
    sentence: '',
    remedy: '',
    attempts: 0,
    nextAttemptIn_ms: null,
  };
  test.each([
    { over: {}, loss_percent: 0, word: 'good', level: null },
    { over: {}, loss_percent: 1.2, word: '1.2\u2009% lost', level: 'caution' },
    { over: { state: 'silent' as const }, loss_percent: 0, word: 'silent', level: 'warning' },
    {
      over: { state: 'waiting' as const, nextAttemptIn_ms: 1800 },
      loss_percent: 0,
      word: 'retry 2\u2009s',
      level: 'warning',
    },
    { over: { state: 'closed' as const, kind: 'none' as const }, loss_percent: 0, word: 'none', level: null },
  ])('when it is $over with $loss_percent % lost, then the word is "$word"', ({ over, loss_percent, word, level }) => {
    expect(linkWord({ ...source, ...over }, { ...link, loss_percent })).toMatchObject({ word, level });
  });

  const recorder: RecorderHealth = {
    state: 'recording',
    sentence: '',
    remedy: '',
    sessionBytes: 0,
    freeBytes: 48e9,
    forecast_h: null,
    held_s: 0,
    lastCommit_epochMs: 0,
  };
  test('when data are held because the disk is full, then it is a warning with the seconds held', () => {
    expect(recorderWord({ ...recorder, state: 'holding', held_s: 12 })).toMatchObject({
      word: 'holding 12\u2009s',
      level: 'warning',
    });
  });
  test.each([
    { freeBytes: 2e9, level: null },
    { freeBytes: 2e9 - 1, level: 'caution' },
    { freeBytes: 200e6 - 1, level: 'warning' },
  ])('when $freeBytes bytes are free, then the level is $level', ({ freeBytes, level }) => {
    expect(diskWord({ ...recorder, freeBytes }).level).toBe(level);
  });
  test.each([
    { forecast_h: null, word: '48.0\u2009GB', level: null, lasts: null },
    { forecast_h: 2000, word: '48.0\u2009GB', level: null, lasts: '83\u2009days' },
    { forecast_h: 24, word: '48.0\u2009GB', level: null, lasts: '24\u2009h' },
    { forecast_h: 11.9, word: '11\u2009h left', level: null, lasts: '11\u2009h' },
    { forecast_h: 4, word: '4\u2009h left', level: null, lasts: '4\u2009h' },
    { forecast_h: 3.99, word: '3\u2009h left', level: 'caution', lasts: '3\u2009h' },
    { forecast_h: 1.999, word: '119\u2009min left', level: 'caution', lasts: '119\u2009min' },
    { forecast_h: 0.49, word: '29\u2009min left', level: 'warning', lasts: '29\u2009min' },
    { forecast_h: 0, word: '0\u2009min left', level: 'warning', lasts: '0\u2009min' },
  ])('when the disk lasts $forecast_h h at this rate, then it says "$word"', ({ forecast_h, word, level, lasts }) => {
    const found = diskWord({ ...recorder, forecast_h });
    expect(found).toMatchObject({ word, level });
    if (lasts === null) expect(found.detail).not.toContain('rate');
    else expect(found.detail).toContain(`At the present rate it lasts ${lasts}.`);
  });
});

describe('given display steps merged for want of a credit', () => {
  test.each([
    { merged: 0, since_ms: Infinity, word: undefined },
    { merged: 12, since_ms: 0, word: '12 merged' },
    { merged: 12, since_ms: 9999, word: '12 merged' },
    { merged: 12, since_ms: 10_000, word: undefined },
    { merged: 12, since_ms: NaN, word: undefined },
  ])(
    'when $merged were and the last was $since_ms ms ago, then the top line says $word',
    ({ merged, since_ms, word }) => {
      expect(screenWord(merged, since_ms)?.word).toBe(word);
    },
  );
});

describe('given a list before the start with open items', () => {
  const ready = { isEngaged: false, attempt_s: 0, left_s: 8, restLeft_s: 0 };
  test.each([
    ['list: 3 open', ready, { open: 3, isOverridden: false }],
    ['ready, 8 s', ready, { open: 3, isOverridden: true }],
    ['ready, 8 s', ready, { open: 0, isOverridden: false }],
    ['rest 1:40', { ...ready, restLeft_s: 99.2 }, { open: 3, isOverridden: false }],
    ['8 s left', { ...ready, isEngaged: true }, { open: 3, isOverridden: false }],
  ])('then the starter says %s', (word, starter, lists) => {
    expect(starterWord(starter, lists)).toBe(word);
  });
});
