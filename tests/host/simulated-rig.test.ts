/** The built-in simulator runs what the rig sheet in force describes; lessons run on the demo rig. */
import { describe, expect, test } from 'vitest';
import { lessonSheetOf, simulatedRigOf } from '../../electron/host/simulated-rig.ts';
import { SimulatorSource } from '../../electron/host/simulator-source.ts';
import { ruleId } from '../../shared-core/base/ids.ts';
import { lapwing120 } from '../../shared-core/rig/lapwing.ts';
import type { RigSheet } from '../../shared-core/rig/rig-sheet.ts';

const fourCylinders: RigSheet = {
  ...lapwing120,
  id: 'four-250',
  engine: { ...lapwing120.engine, cylinders: 4, displacement_cm3: 240, idleSpeed_rpm: 1600, ratedSpeed_rpm: 5200 },
  propeller: { ...lapwing120.propeller, diameter_m: 0.9, pitch_m: 0.4 },
};
const otherLimits: RigSheet = {
  ...lapwing120,
  rules: lapwing120.rules.filter((each) => each.id !== ruleId('cht-spread')),
};
const impossible: RigSheet = { ...lapwing120, propeller: { ...lapwing120.propeller, diameter_m: 3 } };

describe('given a rig sheet', () => {
  test('when it is the demo sheet, with whatever limits, then the built-in rig runs', () => {
    expect(simulatedRigOf(lapwing120)).toEqual({ rig: undefined, sentence: '' });
    expect(simulatedRigOf(otherLimits)).toEqual({ rig: undefined, sentence: '' });
  });

  test('when it is of another engine, then that engine runs, with its cylinders and its speed', () => {
    const { rig, sentence } = simulatedRigOf(fourCylinders);
    expect(sentence).toBe('');
    const source = new SimulatorSource({ scenario: 'full-throttle', seed: 1, speed: 1, rig });
    let text = '';
    source.open({
      onBytes: (bytes) => {
        text += String.fromCharCode(...bytes);
      },
      onStatus: () => {},
    });
    for (let i = 0; i < 50 * 20; i++) source.step();
    expect(text).toContain('cht4');
    const speeds_rpm = [...text.matchAll(/^S \w+ \w+ 1 (\d+) /gm)].map((found) => Number(found[1]));
    // Its own rated speed, not the demo rig's 6,300.
    expect(speeds_rpm.at(-1)).toBeGreaterThan(5000);
    expect(speeds_rpm.at(-1)).toBeLessThan(5400);
  });

  test('when no setting runs it, then the demo rig does, and a sentence says why', () => {
    const { rig, sentence } = simulatedRigOf(impossible);
    expect(rig).toBeUndefined();
    expect(sentence).toContain('propeller');
  });
});

describe('given a lesson', () => {
  test('when the sheet in force grew from the demo sheet, then its limits hold in the lesson', () => {
    expect(lessonSheetOf(otherLimits)).toBe(otherLimits);
  });

  test('when it is of another engine, then the lesson has the demo sheet, whose limits it speaks of', () => {
    expect(lessonSheetOf(fourCylinders)).toBe(lapwing120);
    expect(lessonSheetOf({ ...fourCylinders, id: lapwing120.id })).toBe(lapwing120);
  });
});
