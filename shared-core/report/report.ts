/**
 * The report as data: headings, facts, tables, figures and cautions, ready
 * for whoever sets them (HTML, the terminal). Numbers are already text here,
 * with their units in the heads of the tables.
 */
import type { Quantity } from '../channels/channel.ts';
import { powerCorrection, powerStandardNotes, powerStandards } from '../derive/power-correction.ts';
import type { RigSheet } from '../rig/rig-sheet.ts';
import { formatValue } from '../units/format-value.ts';
import type { AnalysisResult } from './analysis.ts';
import type { TrendColumn } from './trends.ts';

export interface ReportTable {
  readonly title: string;
  readonly note: string;
  readonly heads: readonly string[];
  readonly rows: readonly (readonly string[])[];
}

export interface ReportFigure {
  readonly title: string;
  readonly unit: string;
  readonly columns: readonly TrendColumn[];
  readonly limits: readonly { readonly value: number; readonly label: string }[];
}

export interface Report {
  readonly title: string;
  readonly provenance: 'LIVE' | 'SIMULATED';
  /** Stands right under the title. */
  readonly notices: readonly string[];
  readonly facts: readonly (readonly [string, string])[];
  readonly tables: readonly ReportTable[];
  readonly figures: readonly ReportFigure[];
  readonly cautions: readonly string[];
}

export interface ReportSession {
  readonly id: string;
  readonly startedAt_epochMs: number;
  readonly provenance: 'LIVE' | 'SIMULATED';
  readonly detail: string;
  readonly breakNote: string;
  readonly note: string;
}

/** Wall time at which the session began, as text, is the caller's: it knows the time zone. */
export function buildReport(
  session: ReportSession,
  startedAt: string,
  rig: RigSheet,
  analysis: AnalysisResult,
): Report {
  return {
    title: `Engine test ${session.id}`,
    provenance: session.provenance,
    notices: notices(session, rig),
    facts: facts(session, startedAt, rig, analysis),
    tables: [
      runTable(analysis),
      correctionTable(analysis),
      alarmTable(analysis),
      alarmStatisticsTable(analysis),
      ...advisoryTables(rig, analysis),
      pointTable(analysis),
      channelTable(analysis),
      markTable(analysis),
      linkTable(analysis),
    ].filter((table): table is ReportTable => table !== null),
    figures: figures(rig, analysis),
    cautions: [
      'This report records what was measured. It claims compliance with no standard and takes the place of no inspection.',
      ...rig.cautions,
    ],
  };
}

/** `12:03.4` since the session began. */
export function clockText(t_us: number): string {
  const total_s = t_us / 1e6;
  const hours = Math.floor(total_s / 3600);
  const minutes = Math.floor(total_s / 60) % 60;
  const seconds = (Math.floor((total_s % 60) * 10) / 10).toFixed(1).padStart(4, '0');
  return hours > 0 ? `${hours}:${String(minutes).padStart(2, '0')}:${seconds}` : `${minutes}:${seconds}`;
}

function notices(session: ReportSession, rig: RigSheet): string[] {
  return [
    ...(session.provenance === 'SIMULATED' ? ['SIMULATED: no engine ran. These figures are those of a model.'] : []),
    ...(rig.isDemo ? ['The rig sheet is the invented demo rig; its limits belong to no real engine.'] : []),
    ...(session.breakNote === '' ? [] : [session.breakNote]),
    'Runstand is not the emergency stop; that is hard-wired on the stand.',
  ];
}

function facts(
  session: ReportSession,
  startedAt: string,
  rig: RigSheet,
  analysis: AnalysisResult,
): (readonly [string, string])[] {
  return [
    ['Session', session.id],
    ['Began', startedAt],
    ['Length', clockText(analysis.duration_us)],
    ['Source', session.detail],
    ['Rig sheet', `${rig.name}, version ${rig.version}`],
    [
      'Engine',
      `${rig.engine.name}, ${rig.engine.strokes}-stroke, ${rig.engine.cylinders} cylinders, ${rig.engine.displacement_cm3} cm³`,
    ],
    ['Propeller', rig.propeller.name],
    ['Site', `${rig.site.name}, ${rig.site.elevation_m} m`],
    ['Fuel', rig.fuel.mixRatio > 0 ? `${rig.fuel.name}, mixed ${rig.fuel.mixRatio}:1 by volume` : rig.fuel.name],
    ['Samples', `${formatValue(analysis.samples, 0)} in ${formatValue(analysis.frames, 0)} lines`],
    ...(session.note === '' ? [] : [['Note', session.note] as const]),
  ];
}

function runTable(analysis: AnalysisResult): ReportTable {
  return {
    title: 'Runs',
    note: 'Crank to stop. Peak power and thrust are the highest mean over one second; fuel is the rise of the totaliser times the density at its temperature.',
    heads: [
      'Run',
      'From',
      'Length',
      'Peak rpm',
      'Peak power kW',
      'Peak thrust N',
      'Hottest head °C',
      'Energy kWh',
      'Fuel g',
      'Mean BSFC g/(kW·h)',
    ],
    rows: analysis.runs.map((run) => [
      String(run.run),
      clockText(run.from_us),
      run.to_us === null ? `${clockText(run.duration_s * 1e6)} (not ended)` : clockText(run.duration_s * 1e6),
      numberText(run.peakSpeed_rpm, 0),
      numberText(run.peakBrakePower_kW, 2),
      numberText(run.peakThrust_N, 1),
      numberText(run.peakHead_degC, 1),
      numberText(run.energy_kWh, 4),
      numberText(run.fuelUsed_g, 1),
      run.energy_kWh > 0 ? numberText(run.fuelUsed_g / run.energy_kWh, 0) : '–',
    ]),
  };
}

/** Peak power carried to standard air, by the session's mean air. */
function correctionTable(analysis: AnalysisResult): ReportTable | null {
  const peak_kW = Math.max(...analysis.runs.map((run) => run.peakBrakePower_kW ?? Number.NEGATIVE_INFINITY));
  // By quantity: a bench calls its channels as it likes.
  const mean = (quantity: Quantity): number =>
    analysis.channels.find((each) => each.quantity === quantity)?.mean ?? Number.NaN;
  const inlet_degC = mean('inlet-temperature');
  const air = {
    temperature_degC: Number.isFinite(inlet_degC) ? inlet_degC : mean('ambient-temperature'),
    pressure_hPa: mean('ambient-pressure'),
    humidity_percent: mean('ambient-humidity'),
  };
  if (!Number.isFinite(peak_kW) || !Object.values(air).every(Number.isFinite)) return null;
  return {
    title: 'Peak power at standard air',
    note: `Intake air of the session, mean: ${formatValue(air.temperature_degC, 1)} °C, ${formatValue(air.pressure_hPa, 1)} hPa, ${formatValue(air.humidity_percent, 0)} % RH. Formulas after secondary sources; the standards themselves decide.`,
    heads: ['Standard', 'Reference air', 'Factor', 'Power kW', 'Range'],
    rows: powerStandards.map((standard) => {
      const { factor, range } = powerCorrection(standard, air);
      const { name, reference } = powerStandardNotes[standard];
      const words = { within: 'within', outside: 'outside: not to be called by this name', 'not-stated': 'not stated' };
      return [name, reference, factor.toFixed(4), numberText(factor * peak_kW, 2), words[range]];
    }),
  };
}

function alarmTable(analysis: AnalysisResult): ReportTable {
  return {
    title: 'Alarms',
    note: 'Each trip, by the time of the sample that tripped it.',
    heads: ['At', 'Level', 'Alarm', 'Value', 'Limit', 'First out'],
    rows: analysis.alarms.map((alarm) => [
      clockText(alarm.at_us),
      alarm.level,
      alarm.title,
      numberText(alarm.value, 1),
      numberText(alarm.limit, 1),
      alarm.isFirstOut ? 'first out' : '',
    ]),
  };
}

/** The ten raised most often, and what the session was like for whoever had to answer them. */
function alarmStatisticsTable({ alarmStatistics: figures }: AnalysisResult): ReportTable | null {
  if (figures.raised === 0) return null;
  const floods =
    figures.floods === 0 ? 'no flood' : `${figures.floods} floods, ${clockText(figures.inFlood_us)} in all`;
  const standing = figures.standing.length === 0 ? 'none standing at the end' : `${figures.standing.length} standing`;
  return {
    title: 'Alarm statistics',
    note: `${figures.raised} alarms, ${numberText(figures.perHour, 1)} per hour, at most ${figures.mostInTenMinutes} in 10 minutes; ${floods}; ${standing}; ${figures.chattering.length} chattering, ${figures.fleeting} fleeting; ${figures.shelved} shelved, ${figures.outOfService} taken out of service.`,
    heads: ['Alarm', 'Level', 'Raised', 'Share', 'Stood for', 'Longest', 'Chattering'],
    rows: figures.topTen.map((each) => [
      each.title,
      each.level,
      String(each.raised),
      `${numberText(each.share_percent, 0)} %`,
      clockText(each.active_us),
      clockText(each.longest_us),
      each.isChattering ? 'chattering' : '',
    ]),
  };
}

function advisoryTables(rig: RigSheet, analysis: AnalysisResult): ReportTable[] {
  return analysis.advisories.map((advisory) => {
    const plan = rig.plans.find((each) => each.cause === advisory.cause);
    const stopped =
      advisory.toStopped_s === null
        ? 'the shaft did not come to rest'
        : `shaft at rest after ${advisory.toStopped_s.toFixed(1)} s`;
    return {
      title: `${plan?.kind === 'cool-down' ? 'Cool-down' : 'Abort advisory'}: ${plan?.title ?? advisory.cause}`,
      note: `Opened at ${clockText(advisory.openedAt_us)}; ${stopped}; ${advisory.closedAt_us === null ? 'not closed by the operator' : `closed at ${clockText(advisory.closedAt_us)}`}.`,
      heads: ['Step', 'Done after s', 'Proved by', 'Overdue'],
      rows: advisory.steps.map((step) => [
        plan?.steps.find((each) => each.id === step.id)?.imperative ?? step.id,
        step.doneAt_us === null ? 'not done' : ((step.doneAt_us - advisory.openedAt_us) / 1e6).toFixed(1),
        step.doneBy ?? '–',
        step.wasOverdue ? 'overdue' : '',
      ]),
    };
  });
}

function pointTable(analysis: AnalysisResult): ReportTable | null {
  if (analysis.points.length === 0) return null;
  const firstOf = (quantity: Quantity): string =>
    analysis.channels.find((each) => each.quantity === quantity)?.key ?? '';
  const keys = [firstOf('shaft-speed'), firstOf('thrust'), firstOf('torque'), 'brake_power', 'bsfc', 'cht_max'].filter(
    (key) => analysis.points.some((point) => point.means[key] != null),
  );
  const channelOf = (key: string) => analysis.channels.find((each) => each.key === key);
  return {
    title: 'Captured points',
    note: 'Mean and, behind ±, the sample standard deviation over the window.',
    heads: [
      'Point',
      'At',
      ...keys.map((key) => `${channelOf(key)?.label ?? key} ${channelOf(key)?.unit ?? ''}`.trim()),
    ],
    rows: analysis.points.map((point) => [
      point.name,
      clockText(point.to_us),
      ...keys.map((key) => {
        const mean = point.means[key];
        const decimals = (channelOf(key)?.decimals ?? 2) + 1;
        return mean == null ? '–' : `${formatValue(mean.mean, decimals)} ± ${formatValue(mean.sd, decimals)}`;
      }),
    ]),
  };
}

function channelTable(analysis: AnalysisResult): ReportTable {
  return {
    title: 'Channels',
    note: 'Over the whole session, good samples only; "not good" counts samples that were open, short, over, under or stale.',
    heads: ['Channel', 'Unit', 'Lowest', 'Mean', 'Highest', 'Samples', 'Not good'],
    rows: analysis.channels.map((channel) => [
      channel.label,
      channel.unit,
      numberText(channel.min, channel.decimals),
      numberText(channel.mean, channel.decimals),
      numberText(channel.max, channel.decimals),
      formatValue(channel.samples, 0),
      channel.bad === 0 ? '' : formatValue(channel.bad, 0),
    ]),
  };
}

function markTable(analysis: AnalysisResult): ReportTable | null {
  if (analysis.marks.length === 0) return null;
  return {
    title: 'Marks',
    note: '',
    heads: ['At', 'Mark', 'By'],
    rows: analysis.marks.map((mark) => [clockText(mark.t_us), mark.text, mark.by]),
  };
}

function linkTable(analysis: AnalysisResult): ReportTable | null {
  const counts = analysis.counts;
  if (counts === null) return null;
  return {
    title: 'Serial line',
    note: 'Lines of the bench since the session began, as the receiver counted them.',
    heads: ['Count', 'Lines'],
    rows: [
      ['accepted', formatValue(counts.accepted, 0)],
      ['missing (by running number)', formatValue(counts.missing, 0)],
      ...Object.entries(counts.faults)
        .filter(([, count]) => count > 0)
        .map(([kind, count]) => [kind, formatValue(count, 0)]),
    ],
  };
}

function figures(rig: RigSheet, analysis: AnalysisResult): ReportFigure[] {
  const figure = (title: string, quantity: Quantity, limited?: string): ReportFigure => {
    const columns = analysis.trends.filter((each) => each.quantity === quantity);
    return {
      title,
      unit: columns[0]?.unit ?? '',
      columns,
      limits: rig.rules.flatMap((rule) =>
        rule.kind === 'threshold' && rule.channel === limited
          ? [{ value: rule.trip, label: `${rule.level} ${formatValue(rule.trip, 0)}` }]
          : [],
      ),
    };
  };
  return [
    figure('Shaft speed', 'shaft-speed', 'rpm'),
    figure('Head temperature', 'head-temperature', 'cht1'),
    figure('Exhaust temperature', 'exhaust-temperature', 'egt1'),
    figure('Thrust', 'thrust'),
    figure('Brake power', 'brake-power'),
    figure('Fuel flow', 'fuel-flow'),
    figure('Throttle demand', 'throttle-demand'),
  ].filter((each) => each.columns.length > 0);
}

function numberText(value: number | null, decimals: number): string {
  return value === null || Number.isNaN(value) ? '–' : formatValue(value, decimals);
}
