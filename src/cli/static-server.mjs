/**
 * A static file server for the built page: loopback only, no listing, no special headers. Plain JavaScript so that
 * `npm start` needs no loader.
 */
import { createReadStream } from 'node:fs';
import { stat } from 'node:fs/promises';
import { createServer } from 'node:http';
import { extname, join, normalize, sep } from 'node:path';

const TYPES = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.css': 'text/css; charset=utf-8',
  '.json': 'application/json; charset=utf-8',
  '.webmanifest': 'application/manifest+json; charset=utf-8',
  '.svg': 'image/svg+xml',
  '.png': 'image/png',
  '.woff2': 'font/woff2',
  '.woff': 'font/woff',
  '.wasm': 'application/wasm',
};

/** The file a request means, or null where it leaves the folder. */
function fileOf(folder, url) {
  let path;
  try {
    path = decodeURIComponent(new URL(url, 'http://localhost').pathname);
  } catch {
    return null;
  }
  const file = normalize(join(folder, path.endsWith('/') ? `${path}index.html` : path));
  return file.startsWith(folder + sep) ? file : null;
}

async function answer(folder, request, response) {
  const file = fileOf(folder, request.url ?? '/');
  const info = file ? await stat(file).catch(() => null) : null;
  if (!file || !info?.isFile()) {
    response.writeHead(404, { 'content-type': 'text/plain; charset=utf-8' }).end('not here\n');
    return;
  }
  response.writeHead(200, {
    'content-type': TYPES[extname(file)] ?? 'application/octet-stream',
    'content-length': info.size,
    'cache-control': 'no-cache',
  });
  createReadStream(file).pipe(response);
}

/**
 * @param {string} folder
 * @param {number} port 0 takes a free one
 * @returns {Promise<{ address: string, close(): Promise<void> }>}
 */
export function serveFolder(folder, port) {
  const root = normalize(folder);
  const server = createServer((request, response) => {
    answer(root, request, response).catch((error) => {
      response.destroy(error);
    });
  });
  return new Promise((resolve, reject) => {
    server.once('error', reject);
    server.listen(port, '127.0.0.1', () => {
      const { port: taken } = server.address();
      resolve({
        address: `http://127.0.0.1:${taken}/`,
        close: () =>
          new Promise((done) => {
            server.close(() => done());
            server.closeAllConnections();
          }),
      });
    });
  });
}
