import { describe, expect, test } from 'vitest';
import { TotaliserRate } from '../../shared-core/derive/totaliser-rate.ts';

/** A totaliser of 0.01 mL that counts `flow_LPerh` from `start_mL`. */
function reading_mL(flow_LPerh: number, t_s: number, start_mL = 0): number {
  return Math.floor((start_mL + (flow_LPerh / 3.6) * t_s) * 100) / 100;
}

describe('given a totaliser read ten times a second', () => {
  // One count in the 10 s window is 0.0036 L/h; regression over 100 readings does better than a tenth of that.
  test.each([0, 0.3, 3.2, 12])('when %f L/h flow, then that is the rate', (flow) => {
    const rate = new TotaliserRate();
    let last = NaN;
    for (let i = 0; i <= 300; i++) {
      last = rate.push(i * 1e5, reading_mL(flow, i / 10));
      if (i < 50) expect(last).toBeNaN();
    }
    expect(Math.abs(last - flow)).toBeLessThan(0.004);
    expect(rate.flow_LPerh()).toBe(last);
  });

  test('when it is reset to 0, then the rate is missing for the least span and never negative', () => {
    const rate = new TotaliserRate();
    for (let i = 0; i <= 200; i++) rate.push(i * 1e5, reading_mL(3, i / 10));
    for (let i = 201; i <= 400; i++) {
      const is = rate.push(i * 1e5, reading_mL(3, (i - 201) / 10));
      if (i < 251) expect(is).toBeNaN();
      else expect(Math.abs(is - 3)).toBeLessThan(0.01);
    }
  });

  test('when readings are lost for two seconds, then the rate stands: the total went on counting', () => {
    const rate = new TotaliserRate();
    for (let i = 0; i <= 200; i++) rate.push(i * 1e5, reading_mL(3, i / 10));
    expect(Math.abs(rate.push(22e6, reading_mL(3, 22)) - 3)).toBeLessThan(0.01);
  });

  test('when they are lost for longer than the allowed pause, then it begins anew', () => {
    const rate = new TotaliserRate();
    for (let i = 0; i <= 200; i++) rate.push(i * 1e5, reading_mL(3, i / 10));
    expect(rate.push(25.2e6, reading_mL(3, 25.2))).toBeNaN();
  });

  test('when the reading fails (NaN) and comes back at 0, then the fall is still seen', () => {
    const rate = new TotaliserRate();
    for (let i = 0; i <= 200; i++) rate.push(i * 1e5, reading_mL(3, i / 10));
    rate.push(20.1e6, NaN);
    expect(rate.push(20.2e6, 0)).toBeNaN();
  });

  test('when it is reset by hand, then a lower total is no fall', () => {
    const rate = new TotaliserRate();
    rate.push(0, 1000);
    rate.reset();
    expect(rate.flow_LPerh()).toBeNaN();
    let last = NaN;
    for (let i = 0; i <= 100; i++) last = rate.push(i * 1e5, reading_mL(6, i / 10));
    expect(Math.abs(last - 6)).toBeLessThan(0.01);
  });
});
