/**
 * How the page is built: a static folder that works from any path and offline. Nothing is fetched from
 * elsewhere, nothing is evaluated from strings; the content policy says so to the browser.
 */
import { createHash } from 'node:crypto';
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import react from '@vitejs/plugin-react';
import { defineConfig, type Plugin } from 'vite';
import { VitePWA } from 'vite-plugin-pwa';

const POLICY = [
  "default-src 'none'",
  "script-src 'self'",
  "worker-src 'self'",
  "style-src 'self'",
  "font-src 'self'",
  "img-src 'self' blob:",
  "connect-src 'self'",
  "manifest-src 'self'",
  "base-uri 'none'",
  "form-action 'none'",
].join('; ');

/** The policy goes into the built page only: the development server needs inline scripts of its own. */
const contentPolicy: Plugin = {
  name: 'content-policy',
  apply: 'build',
  transformIndexHtml: () => [
    { tag: 'meta', attrs: { 'http-equiv': 'Content-Security-Policy', content: POLICY }, injectTo: 'head-prepend' },
  ],
};

const ROOMS_THAT_ANSWER = [
  'kit',
  'frames',
  'map',
  'timing',
  'fields',
  'actions',
  'reference',
  'draft',
  'proof',
  'jobs',
];

/** Changes whenever a room that answers questions changes: findings kept by a browser are kept under it. */
function digestOfFinders(): string {
  const digest = createHash('sha256');
  const add = (folder: string): void => {
    const entries = readdirSync(folder, { withFileTypes: true }).sort((a, b) => (a.name < b.name ? -1 : 1));
    for (const entry of entries) {
      const path = join(folder, entry.name);
      if (entry.isDirectory()) add(path);
      else if (entry.name.endsWith('.ts')) digest.update(entry.name).update(readFileSync(path));
    }
  };
  for (const room of ROOMS_THAT_ANSWER) add(join(import.meta.dirname, 'src', room));
  return digest.digest('hex').slice(0, 12);
}

export default defineConfig({
  root: 'src/app',
  base: './',
  define: { FINDERS: JSON.stringify(digestOfFinders()) },
  build: {
    outDir: '../../dist/app',
    emptyOutDir: true,
    assetsInlineLimit: 0,
    target: 'es2022',
    modulePreload: { polyfill: false },
  },
  worker: { format: 'es' },
  plugins: [
    react(),
    contentPolicy,
    VitePWA({
      registerType: 'autoUpdate',
      injectRegister: 'script-defer',
      manifest: {
        name: 'Loomscribe',
        short_name: 'Loomscribe',
        description: 'From raw bus captures of a donor vehicle to a signal map.',
        display: 'standalone',
        start_url: './',
        scope: './',
        background_color: '#f2f3ee',
        theme_color: '#16222b',
        icons: [
          { src: 'icon.svg', sizes: 'any', type: 'image/svg+xml', purpose: 'any' },
          { src: 'icon-192.png', sizes: '192x192', type: 'image/png' },
          { src: 'icon-512.png', sizes: '512x512', type: 'image/png', purpose: 'any maskable' },
        ],
      },
      workbox: { globPatterns: ['**/*.{js,css,html,svg,png,woff2}'], maximumFileSizeToCacheInBytes: 16_000_000 },
    }),
  ],
});
