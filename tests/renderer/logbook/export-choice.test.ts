/** From what is chosen for a file to what the host is asked for. */
import { describe, expect, test } from 'vitest';
import {
  channelsWords,
  clockSeconds,
  type ExportChoice,
  optionsOf,
  rangeFault,
  usualChoice,
} from '../../../renderer/logbook/export-choice.ts';
import { run } from './session-samples.ts';

describe('given a session clock as typed', () => {
  test.each([
    { text: '90', seconds: 90 },
    { text: '1:30', seconds: 90 },
    { text: ' 0:01:30.5 ', seconds: 90.5 },
    { text: '100:00:00', seconds: 360_000 },
    { text: '90:00', seconds: 5400 },
    { text: '0', seconds: 0 },
    { text: '1:60', seconds: null },
    { text: '1:60:00', seconds: null },
    { text: '', seconds: null },
    { text: '-5', seconds: null },
    { text: 'noon', seconds: null },
    { text: '1:2:3:4', seconds: null },
  ])('"$text" is $seconds s', ({ text, seconds }) => {
    expect(clockSeconds(text)).toBe(seconds);
  });
});

describe('given a choice', () => {
  const times = (from: string, to: string): ExportChoice => ({ ...usualChoice, range: 'times', from, to });

  test('when nothing is changed, then the host is asked for its usual', () => {
    expect(optionsOf(usualChoice, [], [])).toEqual({ values: 'calibrated', rate_Hz: 10 });
  });

  test.each([
    { from: '1:00', to: '2:00', asked: { from_us: 60e6, to_us: 120e6 } },
    { from: '', to: '2:00', asked: { to_us: 120e6 } },
    { from: '1:00', to: '', asked: { from_us: 60e6 } },
    { from: '', to: '', asked: {} },
  ])('when the time is from "$from" to "$to", then just that is asked for', ({ from, to, asked }) => {
    expect(rangeFault(times(from, to))).toBe('');
    expect(optionsOf(times(from, to), [], [])).toEqual({ values: 'calibrated', rate_Hz: 10, ...asked });
  });

  test.each([
    { from: '2:00', to: '1:00', fault: /later/ },
    { from: '2:00', to: '2:00', fault: /later/ },
    { from: 'x', to: '', fault: /1:30/ },
  ])(
    'when the time is from "$from" to "$to", then it is said what is wrong, and nothing is asked for',
    ({ from, to, fault }) => {
      expect(rangeFault(times(from, to))).toMatch(fault);
      expect(() => optionsOf(times(from, to), [], [])).toThrow(RangeError);
    },
  );

  test('when a run is chosen, then its times are asked for; one without a stop goes to the end', () => {
    const runs = [run(10, 110), { ...run(200, null), run: 2 }];
    expect(optionsOf({ ...usualChoice, range: 'run 1' }, runs, [])).toMatchObject({ from_us: 10e6, to_us: 110e6 });
    expect(optionsOf({ ...usualChoice, range: 'run 2' }, runs, [])).toEqual({
      values: 'calibrated',
      rate_Hz: 10,
      from_us: 200e6,
    });
  });

  test('when channels are chosen and raw values wanted, then derived ones are left out: a bench never sent them', () => {
    const choice: ExportChoice = { ...usualChoice, channels: ['rpm', 'brake_power'], rate: 'all' };
    expect(optionsOf(choice, [], ['rpm', 'cht1'])).toMatchObject({ channels: ['rpm', 'brake_power'], rate_Hz: 'all' });
    expect(optionsOf({ ...choice, values: 'raw' }, [], ['rpm', 'cht1'])).toMatchObject({ channels: ['rpm'] });
    expect(channelsWords(choice, null)).toBe('2 channels');
    expect(channelsWords(usualChoice, null)).toBe('all channels');
  });
});
