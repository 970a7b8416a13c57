/**
 * What every carrier promises, whoever moves the bytes. Run over the in-memory
 * pair, a WebSocket on loopback, and a message port.
 */
import { afterEach, describe, expect, test } from 'vitest';
import type { Carrier, DisplayBatch, HostMessage, RendererMessage } from '../../shared-core/bridge/contract.ts';

export interface CarrierEnds {
  readonly host: Carrier<HostMessage, unknown>;
  readonly page: Carrier<RendererMessage, unknown>;
  /** Undoes what `make` opened, beyond the two ends. */
  dispose(): Promise<void>;
}

export function carrierConformance(name: string, make: () => Promise<CarrierEnds>): void {
  describe(`given a ${name} carrier`, () => {
    const open: CarrierEnds[] = [];
    const ends = async (): Promise<CarrierEnds> => {
      const made = await make();
      open.push(made);
      return made;
    };
    afterEach(async () => {
      for (const made of open.splice(0)) {
        made.page.close();
        made.host.close();
        await made.dispose();
      }
    });

    test('when messages are posted both ways, then they arrive unchanged and in order', async () => {
      const { host, page } = await ends();
      const atPage = received(page, 200);
      const atHost = received(host, 200);
      for (let i = 0; i < 200; i += 1) {
        host.post(reply(i, `from the host ${i}`));
        page.post({ type: 'credit', stream: 'live', count: i + 1 });
      }
      expect(await atPage).toEqual(Array.from({ length: 200 }, (_, i) => reply(i, `from the host ${i}`)));
      expect(await atHost).toEqual(
        Array.from({ length: 200 }, (_, i) => ({ type: 'credit', stream: 'live', count: i + 1 })),
      );
    });

    test('when a message is posted, then it does not arrive within the same turn', async () => {
      const { host, page } = await ends();
      let isArrived = false;
      const arrived = new Promise<void>((resolve) => {
        page.onMessage(() => {
          isArrived = true;
          resolve();
        });
      });
      host.post(reply(1, null));
      expect(isArrived).toBe(false);
      await arrived;
    });

    test('when a batch holds NaN, infinities and −0, then each value arrives as it was', async () => {
      const { host, page } = await ends();
      const arrived = received(page, 1);
      const odd = [NaN, Infinity, -Infinity, -0, 0, Number.MIN_VALUE, Number.MAX_VALUE, 1 / 3];
      host.post({ type: 'display', batch: batchOf(odd) });
      const batch = displayOf((await arrived)[0]);
      expect(batch.min).toBeInstanceOf(Float64Array);
      expect(batch.quality).toBeInstanceOf(Uint8Array);
      for (const [i, value] of odd.entries()) expect(Object.is(batch.min[i], value), `${value}`).toBe(true);
      expect(batch.updated_us).toEqual(Float64Array.from(odd));
    });

    test('when numbers outside arrays are NaN or infinite, then they arrive as they were', async () => {
      const { host, page } = await ends();
      const arrived = received(page, 1);
      host.post(reply(1, { drift_ppm: NaN, low: -Infinity, high: Infinity, zero: -0, text: 'µ · 10 °C ✓ 🛠' }));
      expect((await arrived)[0]).toStrictEqual(
        reply(1, { drift_ppm: NaN, low: -Infinity, high: Infinity, zero: -0, text: 'µ · 10 °C ✓ 🛠' }),
      );
    });

    test('when the sender reuses its arrays after posting, then what was posted arrives', async () => {
      const { host, page } = await ends();
      const arrived = received(page, 1);
      const batch = batchOf([1, 2, 3]);
      host.post({ type: 'display', batch });
      batch.min.fill(99);
      batch.quality.fill(6);
      const got = displayOf((await arrived)[0]);
      expect([...got.min]).toEqual([1, 2, 3]);
      expect([...got.quality]).toEqual([0, 0, 0]);
    });

    test('when an array is a part of a larger one, then only the part arrives', async () => {
      const { host, page } = await ends();
      const arrived = received(page, 1);
      const pool = Float64Array.from({ length: 1000 }, (_, i) => i);
      host.post({ type: 'display', batch: { ...batchOf([0, 0]), min: pool.subarray(501, 503) } });
      const { min } = displayOf((await arrived)[0]);
      expect([...min]).toEqual([501, 502]);
    });

    test('when a large answer is posted, then it arrives whole', async () => {
      const { host, page } = await ends();
      const arrived = received(page, 2);
      const samples = 1_000_000;
      const min = Float64Array.from({ length: samples }, (_, i) => Math.sin(i));
      host.post(reply(7, [{ channel: 'rpm', from_us: 0, to_us: 1, t_us: min, min, max: min }]));
      host.post(reply(8, 'after it'));
      const [large, after] = await arrived;
      const value = resultValueOf(large) as [{ max: Float64Array }];
      expect(value[0].max.length).toBe(samples);
      expect(value[0].max[samples - 1]).toBe(Math.sin(samples - 1));
      expect(after).toEqual(reply(8, 'after it'));
    });

    test('when messages come before a handler is set, then they wait for it', async () => {
      const { host, page } = await ends();
      const echo = received(host, 1);
      host.post(reply(1, 'early'));
      host.post(reply(2, 'early too'));
      // A round trip the other way gives both time to arrive on every carrier.
      page.post({ type: 'credit', stream: 'live', count: 1 });
      await echo;
      expect(await received(page, 2)).toEqual([reply(1, 'early'), reply(2, 'early too')]);
    });

    test('when the host closes, then what it posted before arrives and both ends are told once', async () => {
      const { host, page } = await ends();
      const order: string[] = [];
      page.onMessage((message) => order.push(`message ${(message as { id: number }).id}`));
      let hostTold = 0;
      host.onClose(() => {
        hostTold += 1;
      });
      const pageTold = new Promise<void>((resolve) => {
        page.onClose(() => {
          order.push('closed');
          resolve();
        });
      });
      host.post(reply(1, null));
      host.post(reply(2, null));
      host.close();
      host.close();
      await pageTold;
      page.close();
      expect(order).toEqual(['message 1', 'message 2', 'closed']);
      expect(hostTold).toBe(1);
    });

    test('when the page closes, then the host is told, and posting afterwards does nothing', async () => {
      const { host, page } = await ends();
      const hostTold = new Promise<void>((resolve) => host.onClose(resolve));
      let late = 0;
      page.onMessage(() => {
        late += 1;
      });
      page.close();
      page.post({ type: 'credit', stream: 'live', count: 1 });
      host.post(reply(1, 'crossing'));
      await hostTold;
      expect(() => host.post(reply(2, 'too late'))).not.toThrow();
      expect(late).toBe(0);
    });

    test('when a close handler is set after the end, then it is told all the same', async () => {
      const { host, page } = await ends();
      const pageTold = new Promise<void>((resolve) => page.onClose(resolve));
      host.close();
      await pageTold;
      await new Promise<void>((resolve) => page.onClose(resolve));
      await new Promise<void>((resolve) => host.onClose(resolve));
    });
  });
}

function received(end: Carrier<never, unknown>, count: number): Promise<unknown[]> {
  return new Promise((resolve) => {
    const messages: unknown[] = [];
    end.onMessage((message) => {
      messages.push(message);
      if (messages.length === count) resolve(messages);
    });
  });
}

function reply(id: number, value: unknown): HostMessage {
  return { type: 'reply', id, result: { ok: true, value } };
}

function resultValueOf(message: unknown): unknown {
  return (message as { result: { value: unknown } }).result.value;
}

function displayOf(message: unknown): DisplayBatch {
  expect(message).toMatchObject({ type: 'display' });
  return (message as { batch: DisplayBatch }).batch;
}

export function batchOf(values: readonly number[]): DisplayBatch {
  return {
    stream: 'live',
    layoutVersion: 1,
    from_us: 0,
    to_us: 50_000,
    merged: 1,
    min: Float64Array.from(values),
    max: Float64Array.from(values),
    last: Float64Array.from(values),
    quality: new Uint8Array(values.length),
    updated_us: Float64Array.from(values),
    arrivedAt_epochMs: 0,
  };
}
