/** Benches that break one rule each, and the check of the kit that must find it. */
import type { CheckId } from '../../../simulator/conformance/checks.ts';
import { type Breakage, framed } from './broken-bench.ts';

export interface BrokenCase {
  readonly does: string;
  readonly finds: CheckId;
  readonly withOutputs?: boolean;
  /** Checks that follow from the same fault. */
  readonly also?: readonly CheckId[];
  /** A new one for each run: some keep count. */
  readonly make: () => Breakage;
}

const textOf = (bytes: Uint8Array): string => String.fromCharCode(...bytes.subarray(0, bytes.length - 1));
const isAnswer = (kind: string): boolean => kind === 'A' || kind === 'R';
/** Keeps lines of a kind only for so long after the start. */
const onlyAtFirst = (kinds: string, ms: number): Breakage => ({
  line: (line, _index, now_ms) => (kinds.includes(line.kind) && now_ms > ms ? null : line),
});

export const brokenCases: readonly BrokenCase[] = [
  {
    does: 'writes the CRC in lower case',
    finds: 'crc-form',
    make: () => ({ text: (text) => text.slice(0, -4) + text.slice(-4).toLowerCase() }),
  },
  {
    does: 'gets the CRC of one line in fifty wrong',
    finds: 'crc',
    also: ['seq'],
    make: () => ({
      text: (text, _line, index) =>
        index % 50 === 0 ? `${text.slice(0, -4)}${text.endsWith('0000') ? '1111' : '0000'}` : text,
    }),
  },
  {
    does: 'leaves event lines out of the running number',
    finds: 'seq',
    make: () => {
      let events = 0;
      return { seq: (seq, line) => (line.kind === 'E' ? (seq - ++events) & 0xffff : (seq - events) & 0xffff) };
    },
  },
  {
    does: 'stamps events 50 ms before the line before',
    finds: 'time',
    make: () => ({
      line: (line) => (line.kind === 'E' && line.time_us > 60_000 ? { ...line, time_us: line.time_us - 50_000 } : line),
    }),
  },
  {
    does: 'runs its clock 4 % fast',
    finds: 'clock',
    also: ['rates', 'table-every'],
    make: () => ({ line: (line) => ({ ...line, time_us: Math.round(line.time_us * 1.04) }) }),
  },
  {
    does: 'sends identity once only',
    finds: 'identity-every',
    also: ['identify-does'],
    make: () => onlyAtFirst('I', 500),
  },
  {
    does: 'sends the table once only, and when asked no more',
    finds: 'table-every',
    also: ['identify-does'],
    make: () => onlyAtFirst('GCD', 500),
  },
  {
    does: 'never sends the row of channel 7',
    finds: 'table-complete',
    make: () => ({ line: (line) => (line.kind === 'C' && line.rest.split(' ')[1] === '7' ? null : line) }),
  },
  {
    does: 'sends events on change only',
    finds: 'event-every',
    also: ['identify-does'],
    make: () => {
      const last = new Map<string, string>();
      return {
        line: (line) => {
          if (line.kind !== 'E') return line;
          const [input = '', state = ''] = line.rest.split(' ');
          if (last.get(input) === state) return null;
          last.set(input, state);
          return line;
        },
      };
    },
  },
  {
    does: 'gives a group at half its rate',
    finds: 'rates',
    make: () => {
      let count = 0;
      return { line: (line) => (line.kind === 'S' && line.rest.startsWith('1 ') && count++ % 2 === 0 ? null : line) };
    },
  },
  {
    does: 'pads sample values with zeros',
    finds: 'form-samples',
    also: ['rates'],
    make: () => ({
      line: (line) =>
        line.kind === 'S' ? { ...line, rest: line.rest.replace(/ (\d)$/, ' 0$1').replace(/ (\d\d+) /, ' 0$1 ') } : line,
    }),
  },
  {
    does: 'writes values with a decimal point',
    finds: 'form-samples',
    also: ['rates'],
    make: () => ({
      line: (line) =>
        line.kind === 'S' && line.rest.startsWith('2 ')
          ? { ...line, rest: line.rest.replace(/(\d)( |$)/, '.$1$2') }
          : line,
    }),
  },
  {
    does: 'sends one value too many',
    finds: 'sample-columns',
    also: ['rates'],
    make: () => ({
      line: (line) => (line.kind === 'S' && line.rest.startsWith('2 ') ? { ...line, rest: `${line.rest} 0` } : line),
    }),
  },
  {
    does: 'puts two spaces between the fields of events',
    finds: 'fields',
    make: () => ({ line: (line) => (line.kind === 'E' ? { ...line, rest: line.rest.replace(' ', '  ') } : line) }),
  },
  {
    does: 'sends a line of more than 512 bytes now and then',
    finds: 'line-length',
    also: ['seq', 'crc-form', 'identity-every', 'identify-does'],
    make: () => ({
      line: (line, _index, now_ms) =>
        line.kind === 'T' || (line.kind === 'I' && now_ms > 1000)
          ? { ...line, rest: `${line.rest} ${'x'.repeat(600)}` }
          : line,
    }),
  },
  {
    does: 'changes a row and keeps the layout',
    finds: 'layout-differs',
    make: () => ({
      line: (line, _index, now_ms) =>
        line.kind === 'C' && now_ms > 3000
          ? { ...line, rest: line.rest.replace(' thrust thrust ', ' pull thrust ') }
          : line,
    }),
  },
  {
    does: 'names temperatures in C',
    finds: 'table-units',
    make: () => ({ line: (line) => (line.kind === 'C' ? { ...line, rest: line.rest.replace(' Cel ', ' C ') } : line) }),
  },
  {
    does: 'answers after 400 ms',
    finds: 'answer-time',
    make: () => ({ late_ms: (line) => (isAnswer(line.kind) ? 400 : 0) }),
  },
  {
    does: 'answers twice',
    finds: 'answer-once',
    make: () => ({ copies: (line) => (isAnswer(line.kind) ? 2 : 1) }),
  },
  {
    does: 'does a command again when it comes again',
    finds: 'repeat-not-done',
    also: ['other-host'],
    make: () => {
      // Every command reaches the bench under a new id; its answer gets the old one back.
      const asked = new Map<string, string>();
      let id = 0x8000;
      return {
        fromHost: (line) => {
          const [kind, host, theirs, ...rest] = line.slice(0, line.lastIndexOf('~')).split(' ');
          if (kind !== 'Q' || theirs === undefined) return [line];
          if (textOf(framed(line.slice(0, line.lastIndexOf('~')))) !== line.replace('\r', '')) return [line];
          const ours = (id++).toString(16).toUpperCase();
          asked.set(ours, theirs);
          return [textOf(framed(`Q ${host} ${ours} ${rest.join(' ')}`))];
        },
        line: (line) => {
          if (!isAnswer(line.kind)) return line;
          const [host, ours = '', ...rest] = line.rest.split(' ');
          return { ...line, rest: [host, asked.get(ours) ?? ours, ...rest].join(' ') };
        },
      };
    },
  },
  {
    does: 'does not answer a command that comes again',
    finds: 'repeat-answer',
    make: () => {
      const answered = new Set<string>();
      return {
        line: (line) => {
          if (!isAnswer(line.kind)) return line;
          const pair = line.rest.split(' ').slice(0, 2).join(' ');
          if (answered.has(pair)) return null;
          answered.add(pair);
          return line;
        },
      };
    },
  },
  {
    does: 'answers damaged lines',
    finds: 'damaged-silent',
    also: ['answer-asked'],
    make: () => ({ fromHost: (line) => [textOf(framed(line.slice(0, line.lastIndexOf('~'))))] }),
  },
  {
    does: 'answers every host as if it were one',
    finds: 'answer-asked',
    also: ['answer-time', 'answer-once', 'other-host', 'repeat-answer', 'crlf', 'split', 'argument'],
    make: () => {
      let count = 0;
      return {
        // The first answers are right, so that the kit sees a bench that hears.
        line: (line) =>
          isAnswer(line.kind) && count++ > 3 ? { ...line, rest: line.rest.replace(/^[0-9A-F]{4}/, '0000') } : line,
      };
    },
  },
  {
    does: 'refuses with a reason of its own',
    finds: 'reasons',
    withOutputs: true,
    also: ['argument', 'arguments', 'unknown'],
    make: () => ({
      line: (line) =>
        line.kind === 'R' ? { ...line, rest: line.rest.replace(/ (ARGUMENT|UNKNOWN)$/, ' NOPE') } : line,
    }),
  },
  {
    does: 'latches the starter for two seconds',
    finds: 'starter-lets-go',
    withOutputs: true,
    also: ['starter-repeat', 'starter-off'],
    make: () => {
      let until_ms = 0;
      let next_ms = 0;
      let host = '';
      let id = 0x9000;
      return {
        fromHost: (line, now_ms) => {
          if (line.includes(' STARTER 1~')) {
            until_ms = now_ms + 2000;
            host = line.split(' ')[1] ?? '';
          }
          return [line];
        },
        everyMs: (now_ms) => {
          if (now_ms > until_ms || now_ms < next_ms) return [];
          next_ms = now_ms + 100;
          return [`Q ${host} ${(id++).toString(16).toUpperCase()} STARTER 1`];
        },
        // Its own commands are its own affair.
        line: (line) => (isAnswer(line.kind) && / 9[0-9A-F]{3}( |$)/.test(line.rest) ? null : line),
      };
    },
  },
  {
    does: 'does not let the lease run out',
    finds: 'lapse-safe',
    withOutputs: true,
    also: ['lapse-stays', 'give-back'],
    make: () => {
      let host = '';
      return {
        fromHost: (line) => {
          if (line.startsWith('L ') && host === '') host = line.split(' ')[1] ?? '';
          return [line];
        },
        everyMs: (now_ms) => (host !== '' && now_ms % 100 === 0 ? [`L ${host} 900`] : []),
      };
    },
  },
  {
    does: 'takes commands without a lease',
    finds: 'lease-needed',
    withOutputs: true,
    also: [
      'lapse-safe',
      'lapse-stays',
      'give-back',
      'starter-lets-go',
      'lease-one',
      'lapse-keeps',
      'lease-held',
      'answer-time',
    ],
    make: () => ({
      fromHost: (line) =>
        line.startsWith('Q ') && !line.includes('IDENTIFY')
          ? [textOf(framed(`L ${line.split(' ')[1]} 900`)), line]
          : [line],
    }),
  },
];
