import { describe, expect, test } from 'vitest';
import { moistAirDensity_kgPerm3, vapourPressure_Pa } from '../../shared-core/derive/moist-air.ts';

describe('given air on the stand', () => {
  test('then moist air is lighter than dry, warm than cold, and thin than thick', () => {
    const rho = moistAirDensity_kgPerm3(17, 941, 55);
    expect(moistAirDensity_kgPerm3(17, 941, 0)).toBeGreaterThan(rho);
    expect(moistAirDensity_kgPerm3(27, 941, 55)).toBeLessThan(rho);
    expect(moistAirDensity_kgPerm3(17, 841, 55)).toBeLessThan(rho);
  });

  test.each([
    [NaN, 941, 55],
    [17, NaN, 55],
    [17, 941, NaN],
    [17, 0, 55],
    [17, -1, 55],
  ])('when it is %f °C, %f hPa, %f %, then there is no density', (t_degC, p_hPa, humidity) => {
    expect(moistAirDensity_kgPerm3(t_degC, p_hPa, humidity)).toBeNaN();
  });

  test('when the air is dry, then it has no vapour pressure', () => {
    expect(vapourPressure_Pa(17, 941, 0)).toBe(0);
  });
});
