/**
 * How the page is built: a static folder that works from any path and offline. Nothing is fetched from
 * elsewhere, nothing is evaluated from strings; the content policy says so to the browser.
 */
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

export default defineConfig({
  root: 'src/app',
  base: './',
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
