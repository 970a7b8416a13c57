/** Order and filter of the fault panel. */
import { describe, expect, test } from 'vitest';
import { listedFaults } from '../../../renderer/train/fault-order.ts';

describe('given three faults of which one is in', () => {
  const faults = [
    { id: 'a', title: 'CHT sensor open', effect: 'The lead breaks.' },
    { id: 'b', title: 'fan fails', effect: 'Only the propeller wash cools.' },
    { id: 'c', title: 'EGT sensor shorted', effect: 'The lead is pinched.' },
  ].map((each) => ({ ...each, trace: '', parameters: [] }));
  const ids = (text: string, active: readonly string[] = ['c']) => {
    const { isIn, others } = listedFaults(faults, active, text);
    return [isIn.map((f) => f.id).join(), others.map((f) => f.id).join()];
  };

  test('when nothing is looked for, then it stands first, the rest in their order', () => {
    expect(ids('')).toEqual(['c', 'a,b']);
  });
  test('when words are looked for in any case, then all of them must be there', () => {
    expect(ids('LEAD cht')).toEqual(['c', 'a']);
    expect(ids('lead wash')).toEqual(['c', '']);
  });
  test('when the one that is in does not fit the words, then it stays in sight', () => {
    expect(ids('wash')).toEqual(['c', 'b']);
  });
  test('when an id is in that the catalogue does not know, then nothing is made up for it', () => {
    expect(ids('', ['x'])).toEqual(['', 'a,b,c']);
  });
});
