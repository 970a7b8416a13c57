/**
 * Thrust and torque of a fixed-pitch propeller on a stand:
 * T = CT ρ n² D⁴, Q = CP ρ n² D⁵ / 2π, n in rev/s (UIUC definitions).
 * Coefficients by pitch, number of blades, speed, and the little wind that the
 * propeller itself makes in the cell.
 */
export interface PropellerSpec {
  readonly name: string;
  readonly diameter_m: number;
  readonly pitch_m: number;
  readonly blades: number;
  /** Static coefficients towards which high speed tends, below tip Mach 0.6. */
  readonly thrustCoefficient: number;
  readonly powerCoefficient: number;
  readonly inertia_kgm2: number;
  /** Share of the thrust that the stand in the slipstream takes back from the cell. */
  readonly standDrag: number;
  /** Wind through the disc in a closed cell, over the induced velocity. */
  readonly recirculation: number;
}

/**
 * Static coefficients by pitch over diameter: parabolas through the UIUC rows
 * of the 16x8 in (0.5: 0.0957, 0.0314) and 15x10 in (0.667: 0.110, 0.0440) at
 * their highest speeds, and a flatter point at 0.357 (0.083, 0.0285) that no
 * published row supports: an extrapolation on the careful side. Blades: the
 * 9x6.75 in with two and four gives (4/2)^0.66 for CT, (4/2)^0.89 for CP.
 */
export function staticCoefficients(pitchRatio: number, blades: number): { readonly ct: number; readonly cp: number } {
  const off = Math.min(1, Math.max(0.2, pitchRatio)) - 0.357;
  return {
    ct: (0.083 + 0.0903 * off - 0.0102 * off * off) * (blades / 2) ** 0.66,
    cp: (0.0285 - 0.0051 * off + 0.178 * off * off) * (blades / 2) ** 0.89,
  };
}

/** Advance ratio at which thrust ends, by pitch over diameter: a line through eight UIUC propellers, 0.71 at 0.5 to 0.93 at 0.86. */
export function zeroThrustAdvance(pitchRatio: number): number {
  return 0.41 + 0.57 * pitchRatio;
}

/**
 * Share of the high-speed static CT at this speed. Small propellers lose
 * thrust at low Reynolds number: the 16x8 in of the UIUC data falls from
 * 0.096 at 5,960 rpm to 0.072 at 973 rpm. A larger chord sees less of it;
 * the 14 % here is common practice, no source.
 */
export function thrustCoefficientAt(spec: PropellerSpec, speed_rpm: number): number {
  return spec.thrustCoefficient * (1 - 0.14 * Math.exp(-speed_rpm / 1500));
}

/**
 * CP at this speed: a little higher at low Reynolds number (UIUC 16x8 in:
 * 0.0327 at 973 rpm, 0.0297 at 2,967), rising again with tip Mach number
 * beyond 0.6 by wave drag (form: common practice, no source).
 */
export function powerCoefficientAt(spec: PropellerSpec, speed_rpm: number, soundSpeed_mPers: number): number {
  const tipMach = (Math.PI * spec.diameter_m * speed_rpm) / 60 / soundSpeed_mPers;
  const wave = tipMach > 0.6 ? 3 * (tipMach - 0.6) * (tipMach - 0.6) : 0;
  return spec.powerCoefficient * (1 + 0.08 * Math.exp(-speed_rpm / 1500) + wave);
}

/** What is left of the static coefficients in a wind: fitted to the 16x8 and 15x10 in rows over advance ratio. */
export function windShares(
  spec: PropellerSpec,
  speed_rpm: number,
  wind_mPers: number,
): { readonly thrust: number; readonly power: number } {
  if (!(speed_rpm > 30) || wind_mPers <= 0) return { thrust: 1, power: 1 };
  const advance = wind_mPers / ((speed_rpm / 60) * spec.diameter_m);
  const x = Math.min(1, advance / zeroThrustAdvance(spec.pitch_m / spec.diameter_m));
  return { thrust: 1 - x ** 1.4, power: 1 - 0.77 * x ** 3 };
}

/** N. `unload` 0 to 1 is the share of blade loading lost (fault "overspeed"). */
export function thrust_N(spec: PropellerSpec, speed_rpm: number, density_kgPerm3: number, unload: number): number {
  const n = speed_rpm / 60;
  return thrustCoefficientAt(spec, speed_rpm) * (1 - unload) * density_kgPerm3 * n * n * spec.diameter_m ** 4;
}

/** N·m that the air takes from the shaft. */
export function propellerTorque_Nm(
  spec: PropellerSpec,
  speed_rpm: number,
  density_kgPerm3: number,
  soundSpeed_mPers: number,
  unload: number,
): number {
  const n = speed_rpm / 60;
  const coefficient = powerCoefficientAt(spec, speed_rpm, soundSpeed_mPers) * (1 - unload);
  return (coefficient * density_kgPerm3 * n * n * spec.diameter_m ** 5) / (2 * Math.PI);
}

/** Ideal induced velocity in the disc, m/s: v = sqrt(T / 2ρA) (momentum theory, Froude 1889). */
export function inducedVelocity_mPers(spec: PropellerSpec, thrust: number, density_kgPerm3: number): number {
  const disc_m2 = (Math.PI * spec.diameter_m * spec.diameter_m) / 4;
  return Math.sqrt(Math.max(0, thrust) / (2 * density_kgPerm3 * disc_m2));
}
