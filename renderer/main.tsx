/** Entry of the page: mounts the workbench on the carrier that this door offers. */
import { connectCarrier } from './app/carrier.ts';
import { mountApp } from './app/mount.tsx';

mountApp(document.getElementById('root') as HTMLElement, connectCarrier);
