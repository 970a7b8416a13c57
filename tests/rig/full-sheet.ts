/** The demo sheet with every part that a sheet can have, for imports and comparisons. */
import type { CalibrationRecord } from '../../shared-core/calibration/record.ts';
import type { LineProfile } from '../../shared-core/line/profile/line-profile.ts';
import { lapwing120 } from '../../shared-core/rig/lapwing.ts';
import type { RigSheet } from '../../shared-core/rig/rig-sheet.ts';

export const record: CalibrationRecord = {
  id: 'thrust-2026-11-25',
  kind: 'thrust',
  channels: ['thrust'],
  date: '2026-11-25',
  who: 'technician 1',
  method: 'Dead weights.',
  reference: 'weights 1 to 4',
  data: { columns: [{ name: 'Mass', unit: 'kg' }], rows: [[0], [10], [null]] },
  figures: [{ name: 'Hysteresis', value: 0.1, unit: '% of span', limit: 0.5, isMet: true }],
  verdict: 'pass',
  findings: ['Repeatability is not known: only one series was taken.'],
  uncertainty: { U: 0.5, unit: 'N', k: 2, p: 0.95, parts: [{ name: 'fit', u: 0.25 }] },
  dueDate: '2027-11-25',
  calibrations: [{ channel: 'thrust', a0: 0.1, a1: 1.002, a2: 0, tare: 0, note: '' }],
};

export const profile: LineProfile = {
  name: 'bench-2',
  layout: { kind: 'delimited', delimiter: ';', fields: 2 },
  decimal: ',',
  header: 'ms;rpm',
  comment: '#',
  prefix: '',
  tag: null,
  checksum: { kind: 'crc16-modbus', mark: ';', coversMark: false, coversPrefix: false },
  time: { kind: 'column', at: { field: 0 }, unit: 'ms', wrap: 4_294_967_296 },
  sequence: null,
  rate_mHz: 10_000,
  columns: [
    {
      at: { field: 1 },
      key: 'rpm',
      quantity: 'shaft-speed',
      unit: '/min',
      scale: 1,
      offset: 0,
      decimals: 0,
      low: 0,
      high: 9000,
      suffix: '',
      missing: [{ text: '', state: 'stale' }],
    },
  ],
};

export const fullSheet: RigSheet = {
  ...lapwing120,
  version: 3,
  calibrations: record.calibrations,
  calibrationRecords: [record],
  profile,
  channels: [{ channel: 'cht1', label: 'CHT front', place: 'cylinder 1', system: 'heads', low: 0, high: 250 }],
  stand: { name: 'Bench 2', thrustSpan_N: 600, torqueSpan_Nm: 40, torqueArm_m: 0.5 },
  limitsFrom: 'workshop manual, issue 3, page 14',
  history: [
    { version: 2, at_epochMs: 1_764_000_000_000, by: 'technician 1', change: 'thrust calibrated' },
    { version: 3, at_epochMs: 1_764_100_000_000, by: 'engineer 1', change: 'CHT limits' },
  ],
};
