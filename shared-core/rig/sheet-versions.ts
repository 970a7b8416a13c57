/**
 * Versions of a rig sheet: every saved change is one more, with who, when and
 * what. Old versions are kept by the host as files; sessions keep theirs.
 */
import type { CalibrationRecord } from '../calibration/record.ts';
import type { RigSheet, SheetChange } from './rig-sheet.ts';

/** Older entries of the history are let go; their version files stay. */
const HISTORY_MAX = 500;

/**
 * The edited sheet as the next version.
 * @param sheet with its edits, and still with the version that it was edited from
 * @param change in the words of whoever changed it, not empty
 */
export function nextVersion(sheet: RigSheet, change: string, by: string, at_epochMs: number): RigSheet {
  const version = sheet.version + 1;
  const entry: SheetChange = { version, at_epochMs, by, change };
  return { ...sheet, version, history: [...(sheet.history ?? []), entry].slice(-HISTORY_MAX) };
}

/**
 * A new rig from an old one: its own id and name, version 1, no calibrations,
 * since those belong to the sensors of the old stand, and nobody who says that
 * its limits are this engine's. A copy of a demo is the user's own and no demo.
 */
export function copiedSheet(
  sheet: RigSheet,
  copy: { readonly id: string; readonly name: string },
  by: string,
  at_epochMs: number,
): RigSheet {
  return {
    ...sheet,
    ...copy,
    version: 1,
    isDemo: false,
    calibrations: [],
    calibrationRecords: [],
    limitsFrom: '',
    history: [
      { version: 1, at_epochMs, by, change: `Copied from ${sheet.name}, version ${sheet.version}.`.slice(0, 200) },
    ],
  };
}

/**
 * The sheet with a calibration record, and, where it did not fail, its terms
 * in place of the channels' old ones. A failed calibration is kept as a record
 * and changes nothing.
 */
export function withCalibrationRecord(sheet: RigSheet, record: CalibrationRecord): RigSheet {
  const records = [...(sheet.calibrationRecords ?? []).filter((each) => each.id !== record.id), record];
  if (record.verdict === 'fail') return { ...sheet, calibrationRecords: records };
  const replaced = new Set(record.calibrations.map((each) => each.channel));
  return {
    ...sheet,
    calibrationRecords: records,
    calibrations: [...sheet.calibrations.filter((each) => !replaced.has(each.channel)), ...record.calibrations],
  };
}
