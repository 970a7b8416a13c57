/**
 * The simulated stand against published values: is it a plausible engine, a
 * possible propeller, the right air and fuel? The sources are named in
 * `data/*.json` and below; PHYSICS.md says which numbers rest on which.
 */
import { describe, expect, test } from 'vitest';
import { airDensity_kgPerm3, soundSpeed_mPers } from '../../simulator/physics/air.ts';
import { mixtureDensity_kgPerm3 } from '../../simulator/physics/fuel.ts';
import { powerCoefficientAt, thrustCoefficientAt } from '../../simulator/physics/propeller.ts';
import { lapwing120, plover210, type SimulatedRig } from '../../simulator/rigs.ts';
import { SimulatedBench } from '../../simulator/simulated-bench.ts';
import moistAir from './data/moist-air.json' with { type: 'json' };
import statics from './data/propeller-static.json' with { type: 'json' };

interface Steady {
  readonly speed_rpm: number;
  readonly power_kW: number;
  readonly torque_Nm: number;
  readonly thrust_N: number;
  readonly fuel_kgPerh: number;
  readonly density_kgPerm3: number;
}

/** Means over 20 s after 90 s at a throttle. */
function steadyAt(rig: SimulatedRig, throttle_percent: number): Steady {
  const bench = new SimulatedBench({ seed: 1, scenario: 'full-throttle', rig });
  bench.act({ kind: 'throttle', percent: throttle_percent });
  bench.advance(90);
  const from = bench.truth;
  let speed = 0;
  let torque = 0;
  let thrust = 0;
  const count = 2000;
  for (let i = 0; i < count; i++) {
    bench.advance(0.01);
    bench.takeBytes();
    const { truth } = bench;
    speed += truth.engineSpeed_rpm / count;
    torque += truth.torque_Nm / count;
    thrust += truth.thrust_N / count;
  }
  return {
    speed_rpm: speed,
    torque_Nm: torque,
    power_kW: (torque * speed * 2 * Math.PI) / 60_000,
    thrust_N: thrust,
    fuel_kgPerh: ((bench.truth.fuelUsed_g - from.fuelUsed_g) / 20) * 3.6,
    density_kgPerm3: bench.truth.airDensity_kgPerm3,
  };
}

describe.each([lapwing120, plover210])('given the rig $title at full throttle', (rig) => {
  const full = steadyAt(rig, 100);

  test('then its specific power lies within the survey of two-strokes', () => {
    // Survey of 88 two-strokes, makers' claims: VictorAlulema/UAVs-propulsion-systems-Database
    // (doi:10.2514/6.2019-4304): least 50, 90th percentile 146.8 W/cm³.
    const specific_WPercm3 = (1000 * full.power_kW) / rig.engine.displacement_cm3;
    expect(specific_WPercm3).toBeGreaterThan(50);
    expect(specific_WPercm3).toBeLessThan(146.8);
  });

  test('then its brake mean effective pressure is that of a small two-stroke', () => {
    // J.K. Ausserer et al., SAE, abstract: above 10 bar over 100 cm³ to below 4 bar under 10 cm³ (work per
    // cycle of either kind); a 288 cm³ twin, digitised from its maker's chart: 3.9 to 4.9 bar.
    const bmep_bar = (full.power_kW * 1000 * 60) / full.speed_rpm / (rig.engine.displacement_cm3 * 0.1);
    expect(bmep_bar).toBeGreaterThan(3.8);
    expect(bmep_bar).toBeLessThan(8);
  });

  test('then BSFC lies in the range of a digitised map, down to 40 % throttle', () => {
    // 288 cm³ twin, maker's BSFC chart digitised in SaadVSP96/Piston-Wankel-Parametric-PerfModel:
    // 272.7 to 512.6 g/(kW·h) over 20 to 100 % throttle.
    for (const steady of [full, steadyAt(rig, 70), steadyAt(rig, 40)]) {
      const bsfc_gPerkWh = (1000 * steady.fuel_kgPerh) / steady.power_kW;
      expect(bsfc_gPerkWh).toBeGreaterThan(300);
      expect(bsfc_gPerkWh).toBeLessThan(512.6);
    }
  });

  test('then thrust costs more power than momentum theory asks, and not absurdly more', () => {
    // P ≥ T^1.5 / sqrt(2ρA): Froude's actuator disc.
    const disc_m2 = (Math.PI * rig.propeller.diameter_m ** 2) / 4;
    const ideal_kW = full.thrust_N ** 1.5 / Math.sqrt(2 * full.density_kgPerm3 * disc_m2) / 1000;
    const merit = ideal_kW / full.power_kW;
    expect(merit).toBeLessThan(0.8);
    expect(merit).toBeGreaterThan(0.55);
  });

  test('then power, torque and speed of the channels obey P = 2π n T', () => {
    // NIST SP 811: 1 W = 1 N·m/s; one revolution is 2π rad.
    expect(full.power_kW).toBeCloseTo((2 * Math.PI * (full.speed_rpm / 60) * full.torque_Nm) / 1000, 9);
  });
});

describe.each([lapwing120, plover210])('given the propeller of the rig $title against UIUC static rows', (rig) => {
  const sound = soundSpeed_mPers(17);
  // At the tip speed that the 16 in propeller has in its last row, 5,960 rpm: below any rise by Mach number.
  const speed_rpm = (5960 * 16 * 0.0254) / rig.propeller.diameter_m;
  const ct = thrustCoefficientAt(rig.propeller, speed_rpm);
  const cp = powerCoefficientAt(rig.propeller, speed_rpm, sound);
  const pitchRatio = rig.propeller.pitch_m / rig.propeller.diameter_m;
  // No published propeller is as large or as flat: the trend is extrapolated downwards.
  const steeper = statics.props
    .filter((prop) => prop.blades === 2)
    .map((prop) => {
      const [diameter, pitch] = prop.prop.match(/[\d.]+/g) ?? [];
      const last = prop.rows.at(-1) ?? [];
      return { ratio: Number(pitch) / Number(diameter), ct: Number(last[1]), cp: Number(last[2]) };
    })
    .filter((prop) => prop.ratio > pitchRatio);

  test('then each steeper propeller takes more power at the same n and D', () => {
    expect(steeper.length).toBeGreaterThan(3);
    for (const prop of steeper) expect(cp).toBeLessThan(prop.cp);
  });

  test('then its thrust coefficient is not above theirs, and not below 80 % of the flattest', () => {
    const flattest = steeper.reduce((a, b) => (b.ratio < a.ratio ? b : a));
    for (const prop of steeper) expect(ct).toBeLessThanOrEqual(prop.ct);
    expect(ct).toBeGreaterThan(0.8 * flattest.ct);
  });

  test('then CT rises and CP falls from 1,000 rpm on, as in the 16x8 in rows', () => {
    const flat = statics.props.find((prop) => prop.prop.startsWith('16'))?.rows as
      | [number, number, number][]
      | undefined;
    const first = flat?.[0];
    const middle = flat?.[4];
    if (!first || !middle) throw new Error('the 16x8 in rows are missing');
    expect(middle[1]).toBeGreaterThan(first[1]);
    expect(middle[2]).toBeLessThan(first[2]);
    expect(thrustCoefficientAt(rig.propeller, 3000)).toBeGreaterThan(thrustCoefficientAt(rig.propeller, 1000));
    expect(powerCoefficientAt(rig.propeller, 3000, sound)).toBeLessThan(powerCoefficientAt(rig.propeller, 1000, sound));
    // Its loss of CT at 1,000 rpm stays below that of the smaller propeller.
    const lossOurs = 1 - thrustCoefficientAt(rig.propeller, 1000) / thrustCoefficientAt(rig.propeller, 3000);
    expect(lossOurs).toBeLessThan(1 - first[1] / middle[1]);
  });
});

describe('given the air of the simulator', () => {
  const rows = moistAir.cipm_2007.rows as readonly {
    t_C: number;
    p: number;
    p_unit: string;
    h: number;
    rho_kg_m3: number;
  }[];
  // CIPM-2007 rows, Metrologia 45 (2008) 149; two ideal gases come within 0.1 %.
  test.each(rows)('then $t_C °C, $p $p_unit, humidity $h give $rho_kg_m3 kg/m³ to 0.1 %', (row) => {
    const pressure_hPa = row.p_unit === 'mmHg' ? row.p * 1.33322387415 : row.p;
    const density = airDensity_kgPerm3(row.t_C, pressure_hPa, 100 * row.h);
    expect(Math.abs(density / row.rho_kg_m3 - 1)).toBeLessThan(0.001);
  });

  test('then sound at 15 °C goes 340.3 m/s (US Standard Atmosphere 1976: 340.294)', () => {
    expect(soundSpeed_mPers(15)).toBeCloseTo(340.3, 1);
  });
});

// Petrol of 745 kg/m³ at 15 °C by ASTM D1250 table 54B (constants as printed; rows by their formula):
// 749.511 at 10 °C, 740.473 at 20 °C, 731.372 at 30 °C. Oil 50:1 of 870 kg/m³ adds 2.45 kg/m³ at 15 °C.
test.each([
  { temperature_degC: 10, petrol: 749.511 },
  { temperature_degC: 20, petrol: 740.473 },
  { temperature_degC: 30, petrol: 731.372 },
])(
  'given petrol at $temperature_degC °C, then $petrol kg/m³, and 50:1 in its place above',
  ({ temperature_degC, petrol }) => {
    const spec = { ...lapwing120.fuel, mixRatio: 1e9 };
    expect(mixtureDensity_kgPerm3(spec, temperature_degC)).toBeCloseTo(petrol, 2);
    const mixed = mixtureDensity_kgPerm3(lapwing120.fuel, temperature_degC);
    expect(mixed - petrol).toBeGreaterThan(2.3);
    expect(mixed - petrol).toBeLessThan(2.6);
  },
);
