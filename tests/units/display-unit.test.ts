import { describe, expect, test } from 'vitest';
import { quantities } from '../../shared-core/channels/channel.ts';
import {
  displayDecimals,
  displayUnitsOf,
  fromDisplay,
  isOffered,
  toDisplay,
} from '../../shared-core/units/display-unit.ts';

describe('given a core-unit value', () => {
  test.each([
    // Exact by definition of the scale.
    { value: 100, core: '°C', display: '°F', shown: 212 },
    { value: -40, core: '°C', display: '°F', shown: -40 },
    { value: 0, core: '°C', display: 'K', shown: 273.15 },
    // A difference has no offset.
    { value: 10, core: 'K', display: '°F difference', shown: 18 },
    // NIST SP 811 (2008) appendix B, factors to seven digits.
    { value: 4.448222, core: 'N', display: 'lbf', shown: 1 },
    { value: 9.80665, core: 'N', display: 'kgf', shown: 1 },
    { value: 1.355818, core: 'N·m', display: 'lbf·ft', shown: 1 },
    { value: 0.7456999, core: 'kW', display: 'hp', shown: 1 },
    { value: 0.7354988, core: 'kW', display: 'metric hp', shown: 1 },
    { value: 33.86389, core: 'hPa', display: 'inHg', shown: 1 },
    { value: 68.94757, core: 'hPa', display: 'psi', shown: 1 },
    { value: 3.785412, core: 'L/h', display: 'US gal/h', shown: 1 },
    { value: 4.54609, core: 'L', display: 'imp gal', shown: 1 },
    { value: 0.4535924, core: 'kg/h', display: 'lb/h', shown: 1 },
    { value: 119.8264, core: 'kg/m³', display: 'lb/US gal', shown: 1 },
    // 1.689659e-7 kg/J (SP 811) is 608.2772 g/(kW·h).
    { value: 608.2772, core: 'g/(kW·h)', display: 'lb/(hp·h)', shown: 1 },
    { value: 6000, core: 'rpm', display: 'rev/s', shown: 100 },
  ])('$value $core is $shown $display', ({ value, core, display, shown }) => {
    expect(toDisplay(value, core, display)).toBeCloseTo(shown, 6);
    // Half of the seventh digit.
    expect(Math.abs(fromDisplay(shown, core, display) - value)).toBeLessThanOrEqual(5e-7 * Math.abs(value) + 1e-12);
  });

  test('when the display unit is the core unit, then nothing changes, bit for bit', () => {
    for (const unit of Object.values(quantities)) expect(toDisplay(0.1 + 0.2, unit, unit)).toBe(0.1 + 0.2);
  });

  test('when it is NaN, then it stays NaN', () => {
    expect(toDisplay(NaN, '°C', '°F')).toBeNaN();
    expect(fromDisplay(NaN, 'N', 'lbf')).toBeNaN();
  });

  test('when the display unit is not offered for it, then it throws', () => {
    expect(() => toDisplay(1, 'N', '°F')).toThrow(RangeError);
    expect(() => fromDisplay(1, 'N', 'psi')).toThrow(RangeError);
    expect(isOffered('N', '°F')).toBe(false);
  });
});

describe('given the core unit of every quantity', () => {
  test.each([...new Set(Object.values(quantities))])(
    '%s: its own unit comes first, and every way there leads back',
    (core) => {
      const units = displayUnitsOf(core);
      expect(units[0]).toMatchObject({ unit: core, factor: 1, offset: 0 });
      expect(new Set(units.map((each) => each.unit)).size).toBe(units.length);
      for (const each of units) {
        for (const value of [-40, 0, 0.001, 6123.5]) {
          expect(fromDisplay(toDisplay(value, core, each.unit), core, each.unit)).toBeCloseTo(value, 9);
        }
      }
    },
  );
});

test('given 2 decimals of N, then lbf gets 3, and no unit gets fewer than 0', () => {
  expect(displayDecimals(2, 'N', 'lbf')).toBe(3);
  expect(displayDecimals(2, 'N', 'N')).toBe(2);
  expect(displayDecimals(0, 'L', 'mL')).toBe(0);
});
