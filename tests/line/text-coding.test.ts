import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { decodedText, encodedText } from '../../shared-core/line/text-coding.ts';

describe('given a text', () => {
  test.each([
    ['fuel filter changed 3% ago', 'fuel filter changed 3%25 ago'],
    ['CHT 1 at 187 °C', 'CHT 1 at 187 %C2%B0C'],
    // RFC 3629, section 7: "A≢Α." and U+233B4.
    ['A\u2262\u0391.', 'A%E2%89%A2%CE%91.'],
    ['\u{233B4}', '%F0%A3%8E%B4'],
    ['a~b', 'a%7Eb'],
    ['}', '}'],
    ['\n\0\x7f', '%0A%00%7F'],
    [' a  b ', '%20a %20b%20'],
    [' ', '%20'],
    ['\ud800x', '%EF%BF%BDx'],
  ])('when %j is encoded, then it is %s', (text, encoded) => {
    expect(encodedText(text)).toBe(encoded);
  });

  test('when it is anything, then it comes back, and its code is fit for a body', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary' }), (text) => {
        const encoded = encodedText(text);
        expect(encoded).toMatch(/^(?:[\x21-\x7d]+(?: [\x21-\x7d]+)*)?$/);
        expect(decodedText(encoded)).toBe(text);
      }),
    );
  });
});

describe('given a code', () => {
  test.each(['%', 'a%', '%2', '%2x', '%%41', 'x%zz'])('when it is %s, then it is none', (encoded) => {
    expect(decodedText(encoded)).toBeUndefined();
  });

  // Ill-formed UTF-8 by RFC 3629, sections 3 and 10: overlong forms, surrogates, cut off, past U+10FFFF.
  test.each([
    ['%C0%80', '\ufffd\ufffd'],
    ['%E0%80%80', '\ufffd\ufffd\ufffd'],
    ['%ED%A0%80', '\ufffd\ufffd\ufffd'],
    ['%F4%90%80%80', '\ufffd\ufffd\ufffd\ufffd'],
    ['%F8a', '\ufffda'],
    ['x%C3', 'x\ufffd'],
    ['%C3x', '\ufffdx'],
    ['%80', '\ufffd'],
    ['%c3%a9', 'é'],
  ])('when it is %s, then each byte that is no UTF-8 is shown as one U+FFFD', (encoded, text) => {
    expect(decodedText(encoded)).toBe(text);
  });
});
