/**
 * Whether a stored session is what was recorded: every checksum, the chain
 * over all frames and the one over all events, the counts of the session's
 * row, and every `ord` from 0 to the last there exactly once. Says where it is
 * not. How frames are laid out in blocks makes no difference to it.
 */
import { type Block, BlockDamage, openBlock } from './block-file.ts';
import { BlockFrames } from './block-frames.ts';
import { FrameRows } from './content-chain.ts';
import { eventChecksum } from './session-buffer.ts';
import type { SessionRecord } from './session-table.ts';
import type { VerifyReport } from './store-contract.ts';
import type { StoredBlocks } from './stored-blocks.ts';

/** A file in ruins has thousands of findings; nobody reads more. */
const MOST_FINDINGS = 50;
/** Bounds the memory that a damaged row can make us take (512 MB); 300 entries a second for 160 days. */
const MOST_ORDS = 2 ** 32;

export function verifySession(record: SessionRecord, stored: StoredBlocks): VerifyReport {
  const findings = new Findings();
  if (record.last_ord > MOST_ORDS) findings.add(`the last ord, ${record.last_ord}, cannot be true`);
  const ords = new OrdCover(Math.min(record.last_ord, MOST_ORDS));
  const blocks = verifyBlocks(record, stored, findings, ords);
  const events = verifyEvents(record, stored, findings, ords);
  ords.report(findings);
  return {
    isWhole: findings.list.length === 0,
    ...blocks,
    events,
    findings: findings.list,
  };
}

function verifyBlocks(record: SessionRecord, stored: StoredBlocks, findings: Findings, ords: OrdCover) {
  let blocks = 0;
  let frames = 0;
  let chain = 0;
  let last: Block | null = null;
  for (const block of stored.inOrder()) {
    const name = `block at ord ${block.firstOrd} to ${block.lastOrd} (${seconds(block.first_us)} to ${seconds(block.last_us)})`;
    if (block.previous !== chain) {
      const before = last === null ? 'the beginning' : `ord ${last.lastOrd}`;
      findings.add(`${name} does not follow ${before}: a block is missing, or one of them was changed`);
    }
    blocks++;
    last = block;
    chain = block.checksum;
    try {
      const rows = new FrameRows();
      let count = 0;
      for (const each = new BlockFrames(openBlock(block)); each.ord < Number.POSITIVE_INFINITY; each.next()) {
        const raw = each.raw();
        rows.add(each.ord, each.t_us, each.group, raw, raw.length);
        ords.add(each.ord);
        count++;
      }
      frames += count;
      if (rows.chainAfter(block.previous) !== block.checksum || count !== block.frames) {
        findings.add(`${name} does not hold the frames that were recorded`);
      }
    } catch (error) {
      if (!(error instanceof BlockDamage)) throw error;
      findings.add(`${name} is damaged: ${error.message}`);
      ords.excuse(block.firstOrd, block.lastOrd);
    }
  }
  if (chain !== record.frame_chain) findings.add('the last block is not the one last recorded');
  if (frames !== record.frames) findings.add(`${frames} frames are there, ${record.frames} were recorded`);
  return { blocks, frames };
}

function verifyEvents(record: SessionRecord, stored: StoredBlocks, findings: Findings, ords: OrdCover): number {
  let count = 0;
  let chain = 0;
  for (const event of stored.events()) {
    if (event.number >= record.events) break;
    if (event.number !== count) findings.add(`event ${count} to ${event.number - 1} missing`);
    // Behind a gap the chain cannot be followed: taken up again after it.
    else if (eventChecksum(event, chain) !== event.checksum) {
      findings.add(`event ${event.number} (${event.kind}, ord ${event.ord}, ${seconds(event.t_us)}) is damaged`);
    }
    if (event.side === 'in') ords.add(event.ord);
    count = event.number + 1;
    chain = event.checksum;
  }
  if (count < record.events) findings.add(`event ${count} to ${record.events - 1} missing`);
  else if (chain !== record.event_chain) findings.add('the last event is not the one last recorded');
  return count;
}

/** One bit for each ord. Outputs do not count: they have the ord of their input. */
class OrdCover {
  readonly #last: number;
  readonly #seen: Uint8Array;
  readonly #excused: { readonly first: number; readonly last: number }[] = [];
  #twice = 0;
  #beyond = 0;

  constructor(last: number) {
    this.#last = last;
    this.#seen = new Uint8Array(Math.floor(last / 8) + 1);
  }

  add(ord: number): void {
    if (!(ord >= 0 && ord <= this.#last)) this.#beyond++;
    else if (this.#has(ord)) this.#twice++;
    else this.#seen[Math.floor(ord / 8)]! |= 1 << (ord % 8);
  }

  /** Gaps in this range are those of a block already found damaged. */
  excuse(first: number, last: number): void {
    this.#excused.push({ first, last });
  }

  report(findings: Findings): void {
    if (this.#twice > 0) findings.add(`${this.#twice} entries have an ord that another has too`);
    if (this.#beyond > 0) findings.add(`${this.#beyond} entries lie beyond ord ${this.#last}, the last one recorded`);
    let from = -1;
    for (let ord = 0; ord <= this.#last + 1; ord++) {
      const isThere = ord > this.#last || this.#has(ord) || this.#isExcused(ord);
      if (!isThere && from < 0) from = ord;
      if (isThere && from >= 0) {
        findings.add(`ord ${from} to ${ord - 1} missing`);
        from = -1;
      }
    }
  }

  #has(ord: number): boolean {
    return (this.#seen[Math.floor(ord / 8)]! & (1 << (ord % 8))) !== 0;
  }

  #isExcused(ord: number): boolean {
    return this.#excused.some((range) => ord >= range.first && ord <= range.last);
  }
}

class Findings {
  readonly list: string[] = [];

  add(finding: string): void {
    if (this.list.length < MOST_FINDINGS) this.list.push(finding);
    else if (this.list.length === MOST_FINDINGS) this.list.push('and more');
  }
}

function seconds(t_us: number): string {
  return `${(t_us / 1e6).toFixed(3)} s`;
}
