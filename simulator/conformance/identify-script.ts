/**
 * What can be asked of any bench without moving anything: IDENTIFY, whole,
 * again, damaged, in pieces. Nothing else is ever commanded here.
 */
import { hostLine } from './host-line.ts';
import type { Script, Talk } from './script.ts';

/** IDENTIFY sends I, the table and all E lines: they may be spread out. */
const IDENTIFY_ms = 1500;
const REPEATS = 3;

/** Ends early, with `hears()` false, where the bench does not answer: one that only sends is a complete bench. */
export function* identifyScript(talk: Talk, hears: (does: boolean) => void): Script {
  const { watch, findings, host, other } = talk;
  const first = yield* reach(talk);
  hears(first !== null);
  if (first === null) return;

  const from_ms = talk.now_ms;
  const id = talk.nextId();
  const asked = yield* talk.ask('IDENTIFY', host, id);
  yield* talk.wait(IDENTIFY_ms);
  findings.note(
    'answer-once',
    talk.answersTo(host, id).length === 1,
    `IDENTIFY: ${talk.answersTo(host, id).length} answers`,
  );
  const rows = new Set(watch.rows.filter((row) => row.at_ms >= from_ms).map((row) => row.name));
  const inputs = new Set(watch.events.filter((event) => event.at_ms >= from_ms).map((event) => event.key));
  const missing = [
    ...watch.table.rowNames.filter((name) => !rows.has(name)),
    ...(watch.table.table?.inputs ?? []).filter((input) => !inputs.has(input.key)).map((input) => `E ${input.key}`),
    ...(watch.identities_ms.some((at_ms) => at_ms >= from_ms) ? [] : ['I']),
  ];
  findings.note('identify-does', missing.length === 0, `did not come: ${missing.slice(0, 6).join(', ')}`);

  // The whole table may fall due just then: only if it comes every time was it done again.
  let doneAgain = 0;
  for (let i = 0; i < REPEATS; i++) {
    const repeated_ms = talk.now_ms;
    const heard = watch.answers.length;
    talk.send(talk.line(host, id, 'IDENTIFY'));
    yield { until: () => talk.answersTo(host, id, heard).length > 0, most_ms: 1000 };
    const again = talk.answersTo(host, id, heard)[0]?.answer;
    const isSame = JSON.stringify(again) === JSON.stringify(asked.answer);
    findings.note('repeat-answer', isSame, again ? 'another answer came' : 'no answer came to the second');
    yield* talk.wait(700);
    const came = new Set(watch.rows.filter((row) => row.at_ms >= repeated_ms).map((row) => row.name));
    if (watch.table.rowNames.length > 0 && watch.table.rowNames.every((name) => came.has(name))) doneAgain++;
    // Off the beat of whatever comes every so often.
    yield* talk.wait(450);
  }
  findings.note('repeat-not-done', doneAgain < REPEATS, `the table came again after each of ${REPEATS} repeats`);

  const theirs = yield* talk.ask('IDENTIFY', other, id);
  findings.note('other-host', theirs.answer !== undefined, 'the second host got no answer');

  const damagedId = talk.nextId();
  const before = watch.answers.length;
  talk.send(hostLine(`Q ${host} ${damagedId} IDENTIFY`, 0x0100));
  yield* talk.wait(600);
  findings.note(
    'damaged-silent',
    talk.answersTo(host, damagedId, before).length === 0,
    'a line with a wrong CRC was answered',
  );

  const crlfId = talk.nextId();
  talk.sent.push({ host, id: crlfId, at_ms: talk.now_ms });
  talk.send(hostLine('', 0, '\n').subarray(5));
  talk.send(hostLine(`Q ${host} ${crlfId} IDENTIFY`, 0, '\r\n'));
  yield { until: () => talk.answersTo(host, crlfId).length > 0, most_ms: 1000 };
  findings.note('crlf', talk.answersTo(host, crlfId).length > 0, 'a line that ended in CR LF was not answered');

  const splitId = talk.nextId();
  for (const byte of talk.line(host, splitId, 'IDENTIFY')) {
    talk.send(Uint8Array.of(byte));
    yield* talk.wait(5);
  }
  yield { until: () => talk.answersTo(host, splitId).length > 0, most_ms: 1000 };
  findings.note('split', talk.answersTo(host, splitId).length > 0, 'no answer came');

  const withArgument = yield* talk.ask('IDENTIFY now');
  findings.note('argument', withArgument.said === 'ARGUMENT', `"IDENTIFY now": ${withArgument.said}`);
  yield* talk.wait(300);
  judgeAsked(talk);
}

/** Answers to nobody: a host or id that was never sent. */
export function judgeAsked(talk: Talk): void {
  for (const { answer } of talk.watch.answers) {
    const isOurs = talk.sent.some(
      ({ host, id }) => host === answer.host.toUpperCase() && id === answer.id.toUpperCase(),
    );
    talk.findings.note('answer-asked', isOurs, `an answer to host ${answer.host}, id ${answer.id}`);
  }
}

/** The first contact may be lost behind a line that was cut: three tries. */
function* reach(talk: Talk): Generator<{ until: () => boolean; most_ms: number }, string | null, boolean> {
  for (let i = 0; i < 3; i++) {
    const id = talk.nextId();
    talk.send(talk.line(talk.host, id, 'IDENTIFY'));
    yield { until: () => talk.answersTo(talk.host, id).length > 0, most_ms: 700 };
    if (talk.answersTo(talk.host, id).length > 0) return id;
  }
  return null;
}
