// The service worker keeps the program of this version, which is the same for everybody, and nothing else: what people record lies in
// the database, never in a cache. A new version waits until the page says that no form is open.
const version = 'VERSION'
const files = ['FILES']
const cacheName = `tacet-${version}`
const shell = '/phone'

self.addEventListener('install', (event) => {
  event.waitUntil(
    caches.open(cacheName).then((c) =>
      c.addAll([shell, '/phone/manifest.webmanifest', ...files.map((f) => `/phone/${version}/${f}`)].map((u) => new Request(u, { cache: 'no-cache', credentials: 'omit' }))),
    ),
  )
})

self.addEventListener('activate', (event) => {
  event.waitUntil(
    caches
      .keys()
      .then((names) => Promise.all(names.filter((n) => n.startsWith('tacet-') && n !== cacheName).map((n) => caches.delete(n))))
      .then(() => self.clients.claim()),
  )
})

self.addEventListener('message', (event) => {
  if (event.data === 'go on') self.skipWaiting()
})

const kept = async (request) => (await (await caches.open(cacheName)).match(request, { ignoreSearch: true })) ?? fetch(request)

// The code on a sheet opens the office's page where there is a network, and what was taken along where there is none.
const sheet = async (request) => {
  try {
    return await fetch(request)
  } catch {
    return Response.redirect(`/phone#/scan/${encodeURIComponent(new URL(request.url).pathname.split('/')[2] ?? '')}`)
  }
}

self.addEventListener('fetch', (event) => {
  const { request } = event, url = new URL(request.url)
  if (request.method !== 'GET' || url.origin !== location.origin) return
  if (url.pathname === shell && request.mode === 'navigate') event.respondWith(kept(shell))
  else if (url.pathname.startsWith('/phone/') && url.pathname !== '/phone/sw.js') event.respondWith(kept(request))
  else if (request.mode === 'navigate' && /^\/s\/[^/]+$/i.test(url.pathname)) event.respondWith(sheet(request))
})
