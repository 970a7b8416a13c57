/** Petrol density against AFDC ranges and ASTM D1250 table 54B; BSFC against SAE 831303. */
import { describe, expect, test } from 'vitest';
import {
  expansion15_perK,
  mixDensity15_kgPerm3,
  oilFor_mL,
  petrolDensity_kgPerm3,
  volumeCorrectionFactor,
} from '../../shared-core/derive/fuel.ts';
import { fuelConversionEfficiency } from '../../shared-core/derive/power.ts';
import { fromDisplay } from '../../shared-core/units/display-unit.ts';
import published from './data/fuel.json' with { type: 'json' };

function property(name: string): (typeof published.gasoline_properties.rows)[number] {
  return published.gasoline_properties.rows.find((row) => row.property === name)!;
}

function range(text: string): [number, number] {
  return text.split('-').map(Number) as [number, number];
}

describe('given the gasoline properties of the Alternative Fuels Data Center', () => {
  test('then 6.0 to 6.5 lb/US gal is specific gravity 0.72 to 0.78', () => {
    const density_lbPergal = range(String(property('density at 60 F').value));
    const gravity = range(String(property('specific gravity 60F/60F').value));
    // Water at 60 °F: 999.016 kg/m³ (API MPMS 11.4, from memory). Two digits are printed.
    for (const i of [0, 1] as const) {
      const density = fromDisplay(density_lbPergal[i], 'kg/m³', 'lb/US gal');
      expect(Math.abs(density / 999.016 - gravity[i])).toBeLessThan(0.005);
    }
  });

  test('then every density of the range has an expansion coefficient near one per mille', () => {
    const [low, high] = range(String(property('specific gravity 60F/60F').value));
    for (let density = low * 999; density <= high * 999; density += 1) {
      // Textbook figure for petrol: 0.95e-3 to 1.3e-3 1/K (common practice, no source).
      expect(expansion15_perK(density)).toBeGreaterThan(0.95e-3);
      expect(expansion15_perK(density)).toBeLessThan(1.35e-3);
    }
  });

  test('then heating value by mass and by volume meet at a density inside the range', () => {
    const perLitre = published.gasoline_properties.rows.find((row) => row.si_unit === 'MJ/L')!.si!;
    const perKg = published.gasoline_properties.rows.find((row) => row.si_unit === 'MJ/kg')!.si!;
    const density = (perLitre / perKg) * 1000;
    expect(density).toBeGreaterThan(720);
    expect(density).toBeLessThan(780);
    expect(petrolDensity_kgPerm3(density, 15)).toBe(density);
  });
});

describe('given ASTM D1250 table 54B', () => {
  test('then the gasoline band is α = K0/ρ² + K1/ρ with the published constants, to its edges', () => {
    const { K0, K1, valid_rho15_kg_m3 } = published.table_54B;
    for (const density of [...valid_rho15_kg_m3, 720, 745]) {
      expect(expansion15_perK(density)).toBeCloseTo(K0 / density ** 2 + K1 / density, 15);
    }
  });

  test('then bands meet without a step that a meter could show', () => {
    // Published bands end at 770 and 787.5 and begin at 770.5 and 788.
    for (const edge of [770.5, 788]) {
      expect(Math.abs(expansion15_perK(edge) / expansion15_perK(edge - 0.001) - 1)).toBeLessThan(0.01);
    }
  });

  test.each([652.9, 839.1, Number.NaN])('then %f kg/m³ is outside the table', (density) => {
    expect(petrolDensity_kgPerm3(density, 20)).toBeNaN();
  });

  // Our own evaluation in other code, no publication: shows only that two codings agree.
  test.each(published.formula_evaluated.rows as [number, number, number, number][])(
    'second coding: %f kg/m³ at %f °C is %f kg/m³, factor %f',
    (density15, t_degC, density, vcf) => {
      expect(petrolDensity_kgPerm3(density15, t_degC)).toBeCloseTo(density, 2);
      expect(volumeCorrectionFactor(density15, t_degC)).toBeCloseTo(vcf, 6);
    },
  );
});

describe('given petrol and oil by volume (arithmetic, no publication)', () => {
  test.each(published.mixture_arithmetic.rows)(
    '$ratio: $fuel_L L takes $oil_mL mL of oil',
    ({ ratio, fuel_L, oil_mL }) => {
      expect(oilFor_mL(fuel_L, Number.parseInt(ratio, 10))).toBe(oil_mL);
    },
  );

  test('then 745 and 870 kg/m³ at 50:1 make 747.451 kg/m³', () => {
    const { rho_fuel, rho_oil, rho_mixture_kg_m3 } = published.mixture_arithmetic.density;
    const mix = { density15_kgPerm3: rho_fuel, oilDensity15_kgPerm3: rho_oil, mixRatio: 50 };
    expect(mixDensity15_kgPerm3(mix)).toBeCloseTo(rho_mixture_kg_m3, 3);
  });
});

test('given the best BSFC published for a 400 cm³ two-stroke (SAE 831303), then its efficiency is that of a small engine', () => {
  const best = published.bsfc_published[0]!.min_bsfc_kg_kWh * 1000;
  const lhv = published.gasoline_properties.rows.find((row) => row.si_unit === 'MJ/kg')!.si!;
  // "About 30 % above 100 cm³": J.K. Ausserer et al., abstract (SAE).
  expect(fuelConversionEfficiency(best, lhv)).toBeGreaterThan(0.28);
  expect(fuelConversionEfficiency(best, lhv)).toBeLessThan(0.32);
});
