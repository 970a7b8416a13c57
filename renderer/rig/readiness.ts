/**
 * What is left before the first start, as far as this program can know it:
 * every point with where it stands and where it is done. It proves the rig's
 * papers and signals, never that an engine may be started. Pure.
 */
import type { Channel } from '../../shared-core/channels/channel.ts';
import { checklistStages } from '../../shared-core/program/checklist.ts';
import type { RigSheet } from '../../shared-core/rig/rig-sheet.ts';
import { placesToCalibrate, recordFor, standingOf, standingWords } from './calibration/calibration-list.ts';
import { stageTitles } from './checklist-edits.ts';

export interface ReadyPoint {
  readonly id: string;
  readonly title: string;
  readonly isDone: boolean;
  readonly words: string;
  /** Tab of Rig; null: at the left. */
  readonly tab: string | null;
}

export interface RigFacts {
  /** Saved last. */
  readonly sheet: RigSheet;
  /** Of the running session; null without one. */
  readonly inForce: number | null;
  readonly channels: readonly Channel[];
  readonly bench: string | null;
  readonly isLinkOpen: boolean;
  readonly loss_percent: number;
  /** Keys of bench channels without a good reading now. */
  readonly notGood: readonly string[];
  /** `2026-03-14` */
  readonly today: string;
}

/** More than this is no sound link: one line in a thousand. */
const LOSS_MOST_percent = 0.1;

export function readyPoints(facts: RigFacts): readonly ReadyPoint[] {
  const { sheet, channels } = facts;
  const limitsFrom = sheet.limitsFrom ?? '';
  const isDescribed = sheet.stand != null && sheet.site.latitude_deg !== undefined;
  const probes = channels.filter(
    ({ origin, quantity }) =>
      origin.kind === 'bench' && (quantity === 'head-temperature' || quantity === 'exhaust-temperature'),
  );
  const placeless = probes.filter(
    (probe) => !sheet.channels?.some((each) => each.channel === probe.key && each.place !== ''),
  );
  const places = placesToCalibrate(channels);
  const undone = places
    .map((place) => ({ place, standing: standingOf(recordFor(place, sheet.calibrationRecords ?? []), facts.today) }))
    .filter((each) => each.standing !== 'good');
  const missing = checklistStages.filter((stage) => !sheet.checklists.some((list) => list.stage === stage));
  const isSound = facts.isLinkOpen && facts.bench !== null && facts.loss_percent <= LOSS_MOST_percent;
  const lost = Number.isFinite(facts.loss_percent)
    ? `${facts.loss_percent.toFixed(2)} % of the lines were lost in the last minute.`
    : 'What is lost is not known yet.';
  return [
    {
      id: 'sheet',
      title: 'A rig sheet of your own',
      isDone: !sheet.isDemo,
      words: sheet.isDemo
        ? 'The demo is loaded: its engine and limits are invented. Begin a new rig, or copy it.'
        : `${sheet.name}, version ${sheet.version}.`,
      tab: 'sheet',
    },
    {
      id: 'stand',
      title: 'Stand and site described',
      isDone: isDescribed,
      words: isDescribed
        ? `${sheet.stand?.name}, ${sheet.site.name}.`
        : 'Full loads, arm and latitude are needed to calibrate by weights.',
      tab: 'sheet',
    },
    {
      id: 'link',
      title: 'Bench connected, link sound',
      isDone: isSound,
      words: !facts.isLinkOpen
        ? 'Choose a port at the left; listen first where you are not sure.'
        : facts.bench === null
          ? 'Connected, but the bench has not said who it is.'
          : `${facts.bench}. ${lost}`,
      tab: facts.isLinkOpen ? 'lines' : null,
    },
    {
      id: 'readings',
      title: 'Every channel reads',
      isDone: channels.length > 0 && facts.notGood.length === 0,
      words:
        channels.length === 0
          ? 'No channels yet.'
          : facts.notGood.length === 0
            ? 'No sensor is open, short or silent.'
            : `Without a good reading: ${facts.notGood.join(', ')}.`,
      tab: 'channels',
    },
    {
      id: 'places',
      title: 'Probes mapped to cylinders',
      isDone: probes.length > 0 && placeless.length === 0,
      words:
        probes.length === 0
          ? 'No thermocouples yet.'
          : placeless.length === 0
            ? 'Each has its place; the warm-hand check proves it.'
            : `Without a place: ${placeless.map((each) => each.key).join(', ')}.`,
      tab: 'channels',
    },
    {
      id: 'calibrations',
      title: 'Calibrations in force',
      isDone: places.length > 0 && undone.length === 0,
      words:
        places.length === 0
          ? 'Nothing to calibrate yet.'
          : undone.length === 0
            ? `All ${places.length} are good today.`
            : `${places.length - undone.length} of ${places.length} are good. ${undone
                .slice(0, 4)
                .map((each) => `${each.place.title}: ${standingWords[each.standing]}`)
                .join('; ')}${undone.length > 4 ? '; …' : '.'}`,
      tab: 'calibration',
    },
    {
      id: 'limits',
      title: 'Limits from the maker',
      isDone: sheet.rules.length > 0 && !sheet.isDemo && limitsFrom !== '',
      words:
        sheet.rules.length === 0
          ? 'Nothing is watched: this sheet has no limits.'
          : limitsFrom === ''
            ? `${sheet.rules.length} limits, and nobody has said whose: a new sheet begins with the demo's, which are invented. Set them by the maker's manual, then write in the rig sheet where they are from.`
            : `${sheet.rules.length} limits, from: ${limitsFrom}.`,
      tab: 'limits',
    },
    {
      id: 'checklists',
      title: 'Checklists for every stage',
      isDone: missing.length === 0,
      words:
        missing.length === 0
          ? `${sheet.checklists.reduce((sum, list) => sum + list.items.length, 0)} items in ${sheet.checklists.length} stages, signed in Run.`
          : `Without items: ${missing.map((stage) => stageTitles[stage]).join(', ')}.`,
      tab: 'checklists',
    },
    {
      id: 'in-force',
      title: 'The sheet is in force',
      isDone: facts.inForce === sheet.version,
      words:
        facts.inForce === sheet.version
          ? `Version ${sheet.version} is what the bench is read by.`
          : facts.inForce === null
            ? 'It takes effect when a bench is connected.'
            : `Version ${facts.inForce} is in force; version ${sheet.version} takes effect with the next session. Disconnect and connect again.`,
      tab: null,
    },
  ];
}
