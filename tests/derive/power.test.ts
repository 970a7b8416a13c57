import { describe, expect, test } from 'vitest';
import {
  bmep_bar,
  bmepTwoStroke_bar,
  brakePower_kW,
  bsfc_gPerkWh,
  fuelConversionEfficiency,
} from '../../shared-core/derive/power.ts';

describe('given torque and speed', () => {
  test.each([
    { torque_Nm: 30, speed_rpm: 1000, power_kW: Math.PI },
    { torque_Nm: 0, speed_rpm: 6000, power_kW: 0 },
    { torque_Nm: -30, speed_rpm: 1000, power_kW: -Math.PI },
    { torque_Nm: NaN, speed_rpm: 1000, power_kW: NaN },
    { torque_Nm: 30, speed_rpm: NaN, power_kW: NaN },
  ])('$torque_Nm N·m at $speed_rpm rpm is $power_kW kW', ({ torque_Nm, speed_rpm, power_kW }) => {
    const is = brakePower_kW(torque_Nm, speed_rpm);
    if (Number.isNaN(power_kW)) expect(is).toBeNaN();
    else expect(is).toBeCloseTo(power_kW, 12);
  });
});

describe('given a mean effective pressure', () => {
  // By definition: 1 bar on 1000 cm³ is 100 J a cycle; a two-stroke at 6000 rpm has 100 cycles a second.
  test('then 10 kW at 6000 rpm from 1000 cm³ is 1 bar in a two-stroke, 2 bar in a four-stroke', () => {
    expect(bmepTwoStroke_bar(10, 6000, 1000)).toBeCloseTo(1, 12);
    expect(bmep_bar(10, 6000, 1000, 4)).toBeCloseTo(2, 12);
  });

  // Two-stroke: work of a cycle is 2πT, so bmep = 2πT/V whatever the speed.
  test.each([500, 3000, 6300])('then it follows from torque alone, at %f rpm', (speed_rpm) => {
    const power_kW = brakePower_kW(9, speed_rpm);
    expect(bmepTwoStroke_bar(power_kW, speed_rpm, 120)).toBeCloseTo((2 * Math.PI * 9) / 120e-6 / 1e5, 10);
  });

  test('when the shaft is at rest or a value is missing, then there is none', () => {
    expect(bmepTwoStroke_bar(0, 0, 120)).toBeNaN();
    expect(bmepTwoStroke_bar(1, 6000, 0)).toBeNaN();
    expect(bmepTwoStroke_bar(NaN, 6000, 120)).toBeNaN();
    expect(bmepTwoStroke_bar(1, NaN, 120)).toBeNaN();
  });
});

describe('given fuel flow and power', () => {
  test.each([
    { flow: 3, power_kW: 6, bsfc: 500 },
    { flow: 0, power_kW: 6, bsfc: 0 },
    { flow: 3, power_kW: 0.1, bsfc: NaN },
    { flow: 3, power_kW: 0.1001, bsfc: 3000 / 0.1001 },
    { flow: 3, power_kW: 0, bsfc: NaN },
    { flow: 3, power_kW: -1, bsfc: NaN },
    { flow: NaN, power_kW: 6, bsfc: NaN },
    { flow: 3, power_kW: NaN, bsfc: NaN },
  ])('$flow kg/h for $power_kW kW is $bsfc g/(kW·h)', ({ flow, power_kW, bsfc }) => {
    const is = bsfc_gPerkWh(flow, power_kW);
    if (Number.isNaN(bsfc)) expect(is).toBeNaN();
    else expect(is).toBeCloseTo(bsfc, 9);
  });

  test('when another least power is asked for, then that one holds', () => {
    expect(bsfc_gPerkWh(3, 0.05, 0)).toBeCloseTo(60000, 8);
  });
});

test('given no consumption, then there is no efficiency', () => {
  expect(fuelConversionEfficiency(0, 43)).toBeNaN();
  expect(fuelConversionEfficiency(NaN, 43)).toBeNaN();
  // All of the heat turned to work: 3600/43 g/(kW·h).
  expect(fuelConversionEfficiency(3600 / 43, 43)).toBeCloseTo(1, 12);
});
