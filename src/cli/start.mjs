/** `npm start`: builds the page, serves it on this machine only, and prints its address. */
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { build } from 'vite';
import { serveFolder } from './static-server.mjs';

const root = fileURLToPath(new URL('../../', import.meta.url));
const wanted = Number(process.env.PORT ?? 4180);

async function serve() {
  try {
    return await serveFolder(join(root, 'dist', 'app'), wanted);
  } catch (error) {
    if (error.code !== 'EADDRINUSE' || process.env.PORT) throw error;
    return serveFolder(join(root, 'dist', 'app'), 0);
  }
}

// The configuration's paths are meant from the top of the checkout, wherever this was started.
process.chdir(root);
process.env.NODE_ENV = 'production';
await build({ configFile: join(root, 'vite.config.ts'), logLevel: 'error' });
const { address } = await serve();
console.log(`Loomscribe is at ${address}`);
console.log('It is served to this machine only. Stop with Ctrl C.');
