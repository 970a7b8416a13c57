import { describe, expect, test } from 'vitest';
import { type Quantity, quantities } from '../../shared-core/channels/channel.ts';
import { benchUnitStep } from '../../shared-core/units/bench-unit.ts';

describe('given a unit of the line protocol', () => {
  test.each([
    { value: 100, ucum: 'Hz', core: 'rpm', is: 6000 },
    { value: 1, ucum: 'kgf', core: 'N', is: 9.80665 },
    // NIST SP 811 appendix B: 4.448222 N.
    { value: 1, ucum: '[lbf_av]', core: 'N', is: 4.448222 },
    { value: 212, ucum: '[degF]', core: '°C', is: 100 },
    { value: 273.15, ucum: 'K', core: '°C', is: 0 },
    { value: 50, ucum: 'mL/min', core: 'L/h', is: 3 },
    { value: 1, ucum: '[gal_us]/h', core: 'L/h', is: 3.785412 },
    { value: 1.5, ucum: 'L', core: 'mL', is: 1500 },
    { value: 94100, ucum: 'Pa', core: 'hPa', is: 941 },
    { value: 1.5, ucum: 'ms', core: 'µs', is: 1500 },
    { value: 12.5, ucum: 'V', core: 'V', is: 12.5 },
    { value: 250, ucum: 'mA', core: 'A', is: 0.25 },
  ])('$value $ucum is $is $core', ({ value, ucum, core, is }) => {
    const step = benchUnitStep(ucum, core)!;
    expect(value * step.factor + step.offset).toBeCloseTo(is, 6);
  });

  test('when it measures something else or is not known, then there is no step', () => {
    expect(benchUnitStep('Cel', 'N')).toBeUndefined();
    expect(benchUnitStep('cel', '°C')).toBeUndefined();
    expect(benchUnitStep('toString', '°C')).toBeUndefined();
    expect(benchUnitStep('N', '')).toBeUndefined();
  });

  // The usual units of PROTOCOL.md part 7, in which no conversion takes place.
  test.each([
    ['shaft-speed', '/min'],
    ['thrust', 'N'],
    ['torque', 'N.m'],
    ['head-temperature', 'Cel'],
    ['fuel-flow', 'L/h'],
    ['fuel-total', 'mL'],
    ['fuel-level', 'L'],
    ['throttle-demand', '%'],
    ['servo-pulse', 'us'],
    ['supply-voltage', 'V'],
    ['starter-current', 'A'],
    ['ambient-pressure', 'hPa'],
  ] as [Quantity, string][])('the usual unit of %s, %s, is the core unit', (quantity, ucum) => {
    expect(benchUnitStep(ucum, quantities[quantity])).toEqual({ factor: 1, offset: 0 });
  });
});
