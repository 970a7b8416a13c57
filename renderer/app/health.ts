/** Link, recorder, disk and this page's own pace in a word and a level, for the top line. Pure. */
import type { LatencyHealth, LinkHealth, RecorderHealth, SourceView } from '../../shared-core/bridge/contract.ts';
import type { AlarmLevel } from '../../shared-core/limits/rules.ts';
import { formatBytes } from '../ui/format.ts';
import type { ScreenLatency } from './screen-latency.ts';

export interface HealthWord {
  readonly word: string;
  readonly level: AlarmLevel | null;
  /** The whole story, for the tooltip and the screen reader. */
  readonly detail: string;
}

/** Below this much free space the operator should think of the disk; below the second, now. */
const LOW_DISK_BYTES = 2e9;
const LEAST_DISK_BYTES = 200e6;
/** Own choices. A day's work and no more: hours say more than bytes. Less than a long run: time to make room; a coffee: now. */
const SHOWN_BELOW_h = 24;
const LOW_DISK_h = 4;
const LEAST_DISK_h = 0.5;

export function linkWord(source: SourceView, link: LinkHealth): HealthWord {
  const detail = [source.sentence, source.remedy].filter((s) => s !== '').join(' ');
  switch (source.state) {
    case 'open': {
      const faults = Object.values(link.counts.faults).reduce((sum, n) => sum + n, 0);
      const numbers = `${Math.round(link.linesPerSecond)} lines/s, ${link.counts.missing} missing, ${faults} damaged`;
      if (link.loss_percent >= 1) {
        return {
          word: `${link.loss_percent.toFixed(1)}\u2009% lost`,
          level: 'caution',
          detail: `${detail} ${numbers}`,
        };
      }
      return { word: 'good', level: null, detail: `${detail} ${numbers}` };
    }
    case 'opening':
      return { word: 'opening', level: null, detail };
    case 'silent':
      return { word: 'silent', level: 'warning', detail };
    case 'waiting': {
      const wait = source.nextAttemptIn_ms === null ? '' : ` ${Math.ceil(source.nextAttemptIn_ms / 1000)}\u2009s`;
      return { word: `retry${wait}`, level: 'warning', detail };
    }
    case 'closed':
      return {
        word: source.kind === 'none' ? 'none' : 'closed',
        level: source.kind === 'none' ? null : 'warning',
        detail,
      };
  }
}

export function recorderWord(recorder: RecorderHealth): HealthWord {
  const detail = [recorder.sentence, recorder.remedy].filter((s) => s !== '').join(' ');
  switch (recorder.state) {
    case 'recording':
      return { word: 'on', level: null, detail: detail || `Recording, ${formatBytes(recorder.sessionBytes)} so far.` };
    case 'holding':
      return { word: `holding ${Math.round(recorder.held_s)}\u2009s`, level: 'warning', detail };
    case 'stopped':
      return { word: 'stopped', level: 'warning', detail };
  }
}

export function diskWord(recorder: RecorderHealth): HealthWord {
  const free = formatBytes(recorder.freeBytes);
  // Not known in the first minute, and where nothing is recorded.
  const left_h = recorder.forecast_h ?? Number.POSITIVE_INFINITY;
  const word = left_h < SHOWN_BELOW_h ? `${leftText(left_h)} left` : free;
  const rate = Number.isFinite(left_h) ? ` At the present rate it lasts ${leftText(left_h)}.` : '';
  const detail = `${free} free on the disk that is recorded to.${rate}`;
  if (recorder.freeBytes < LEAST_DISK_BYTES || left_h < LEAST_DISK_h) {
    return { word, level: 'warning', detail: `${detail} Make room now.` };
  }
  if (recorder.freeBytes < LOW_DISK_BYTES || left_h < LOW_DISK_h) {
    return { word, level: 'caution', detail: `${detail} Make room soon.` };
  }
  return { word, level: null, detail };
}

/** Rounded down: nobody is to count on more than there is. */
function leftText(left_h: number): string {
  if (left_h < 2) return `${Math.floor(left_h * 60)}\u2009min`;
  if (left_h < 72) return `${Math.floor(left_h)}\u2009h`;
  return `${Math.floor(left_h / 24)}\u2009days`;
}

/** Beyond this what is on the screen is no longer the present; own choice, and the target of the latency benchmark. */
const SLOW_SCREEN_MS = 250;

/** Byte to screen of the values, in short; null before it was measured. */
export function latencyWord(screen: ScreenLatency, alarms: LatencyHealth | null): HealthWord | null {
  if (!Number.isFinite(screen.p50_ms)) return null;
  const parts = [
    `From the bench's byte to this screen: half of the values within ${Math.round(screen.p50_ms)}\u2009ms, 99 of 100 within ${Math.round(screen.p99_ms)}\u2009ms.`,
  ];
  if (alarms !== null && alarms.shown > 0) {
    parts.push(
      `Alarms: half within ${Math.round(alarms.p50_ms)}\u2009ms, 99 of 100 within ${Math.round(alarms.p99_ms)}\u2009ms.`,
    );
  }
  return {
    word: `${Math.round(screen.p50_ms)}\u2009ms`,
    level: screen.p50_ms > SLOW_SCREEN_MS ? 'notice' : null,
    detail: parts.join(' '),
  };
}

/** So long after steps were merged the top line says so. */
const MERGED_SHOWN_MS = 10_000;

/** Whether this page keeps up with what the host sends; null while it does. */
export function screenWord(mergedSteps: number, sinceMerged_ms: number): HealthWord | null {
  if (mergedSteps === 0 || !(sinceMerged_ms < MERGED_SHOWN_MS)) return null;
  return {
    word: `${mergedSteps} merged`,
    level: 'notice',
    detail: `This page draws too slowly: ${mergedSteps} display steps were merged into others, with their extremes. Nothing is missing in the recording, and alarms are not held back.`,
  };
}
