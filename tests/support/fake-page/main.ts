/** The real page on the host in memory: `?scene=overspeed`. Not part of any build that is shipped. */
import { mountApp } from '../../../renderer/app/mount.tsx';
import { createFakeHost, type Scene } from '../fake-host.ts';

const scene = (new URLSearchParams(location.search).get('scene') ?? 'calm') as Scene;
const host = createFakeHost(scene);
Object.assign(window, { fakeHost: host });
mountApp(document.getElementById('root') as HTMLElement, host.connect);
