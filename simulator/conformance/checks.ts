/**
 * What a bench is held to: one row per check, with the part of PROTOCOL.md
 * that asks for it. "must" fails a bench, "should" is advice. What judges by
 * listening is in `line-watch.ts`, by asking in the scripts beside it.
 */
export interface Check {
  /** Part of PROTOCOL.md. */
  readonly part: number;
  readonly says: string;
  readonly weight: 'must' | 'should';
  /** What has to be done to see it: only listen, ask for identity, or drive outputs. */
  readonly needs: 'listen' | 'identify' | 'outputs';
}

const must = (part: number, says: string, needs: Check['needs'] = 'listen'): Check => ({
  part,
  says,
  weight: 'must',
  needs,
});
const should = (part: number, says: string, needs: Check['needs'] = 'listen'): Check => ({
  part,
  says,
  weight: 'should',
  needs,
});

export const checks = {
  'line-length': must(2, 'a line is at most 512 bytes'),
  bytes: must(2, 'a line holds printable ASCII only'),
  'crc-form': must(2, 'a line ends in "~" and four upper-case hex digits'),
  crc: must(2, 'the CRC is right'),
  fields: must(2, 'exactly one space between fields, none at the ends'),
  kind: must(2, 'the first field is one upper-case letter'),
  'kind-known': should(4, 'the kinds are those of the document'),
  head: must(3, 'running number and time have their form'),
  seq: must(3, 'the running number is one more for every line'),
  time: must(3, 'bench time never goes back'),
  clock: must(3, 'bench time counts microseconds: it keeps pace with our clock within 1 %'),
  alive: must(3, 'there is a line at least every 2 s'),
  'form-identity': must(5, 'identity lines have their form'),
  version: must(5, 'the version is 1.x'),
  'identity-every': must(4, 'identity comes at least every 2 s'),
  'boot-restarts': must(3, 'after a new boot the running number begins at 0000, with identity first'),
  'form-table': must(5, 'rows of the channel table have their form'),
  'table-complete': must(5, 'the channel table is complete'),
  'table-every': must(4, 'every row of the table comes at least every 5 s'),
  'table-layout': must(5, 'rows carry the layout of the identity line'),
  'layout-differs': must(5, 'the layout differs whenever a row differs'),
  'table-keys': must(5, 'keys are unique in the table'),
  'table-units': should(7, 'quantities that the host knows come in units that it converts'),
  'form-samples': must(6, 'sample lines have their form: whole numbers, or one state letter'),
  'sample-columns': must(6, 'a sample line has as many values as its group has columns'),
  'sample-range': should(6, 'values beyond the range of the sensor are sent as states'),
  rates: must(5, 'groups come at their nominal rate, within 2 %'),
  'form-event': must(7, 'lines of inputs have their form'),
  'event-every': must(4, 'each input comes at least every 2 s'),
  'form-text': must(11, 'text lines have their form'),
  'form-answer': must(8, 'answers have their form'),
  'answer-time': must(8, 'a command is answered within 200 ms (and 60 ms for the wire)', 'identify'),
  'answer-once': must(8, 'a command is answered exactly once', 'identify'),
  'answer-asked': must(8, 'answers name a host and an id that asked', 'identify'),
  'identify-does': must(8, 'IDENTIFY sends identity, the whole table and all inputs', 'identify'),
  'repeat-answer': must(8, 'a command that comes again gets the same answer', 'identify'),
  'repeat-not-done': must(8, 'a command that comes again is not executed again', 'identify'),
  'other-host': must(8, 'the same id from another host is another command', 'identify'),
  'damaged-silent': must(8, 'a damaged line is not answered', 'identify'),
  crlf: must(2, 'CR before LF, and empty lines, are taken', 'identify'),
  split: must(1, 'a command that comes byte by byte is taken', 'identify'),
  argument: should(8, 'an argument that is not asked for is refused ARGUMENT', 'identify'),
  reasons: must(8, 'refusals give a reason of the document', 'identify'),
  unknown: must(8, 'an unknown command is refused UNKNOWN', 'outputs'),
  arguments: must(8, 'arguments that are missing, malformed or out of range are refused ARGUMENT', 'outputs'),
  'lease-needed': must(8, 'without a lease ignition, starter, supplies and throttle are refused NO-LEASE', 'outputs'),
  'safe-without': must(8, 'without a lease ignition off and throttle 0 are taken', 'outputs'),
  'lease-held': must(9, 'a lease is taken, and the input "lease" says so', 'outputs'),
  'lease-one': must(9, 'while one host holds the lease another is refused LEASED and cannot end it', 'outputs'),
  'switch-shown': must(8, 'what is switched shows on its input', 'outputs'),
  'throttle-shown': must(8, 'the throttle demand follows the command', 'outputs'),
  'starter-lets-go': must(8, 'STARTER 1 lets go by itself after 250 ms', 'outputs'),
  'starter-repeat': must(8, 'the same id again does not hold the starter', 'outputs'),
  'starter-held': must(8, 'STARTER 1 with new ids holds on', 'outputs'),
  'starter-off': must(8, 'STARTER 0 lets go at once', 'outputs'),
  'tare-moving': must(8, 'a tare is refused MOVING while the shaft turns', 'outputs'),
  'tare-rest': must(8, 'a tare is taken at rest', 'outputs'),
  'fuel-reset': must(8, 'RESET-FUEL sets the totaliser to 0', 'outputs'),
  'lapse-safe': must(9, 'when the lease runs out, ignition goes off and throttle demand to 0, at once', 'outputs'),
  'lapse-keeps': must(9, 'supplies stay as they are when the lease runs out', 'outputs'),
  'lapse-stays': must(9, 'a new lease changes nothing by itself', 'outputs'),
  'give-back': must(9, 'giving the lease back makes safe at once', 'outputs'),
} as const satisfies Readonly<Record<string, Check>>;

export type CheckId = keyof typeof checks;
export const checkIds = Object.keys(checks) as readonly CheckId[];
