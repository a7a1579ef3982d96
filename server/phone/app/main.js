// Routes, the line at the top, and when things are sent: on opening, when the network returns, on a timer. Never by the service worker
// alone: browsers may put that off for good.
import { able, device, present } from './account.js'
import { deedPage } from './deed.js'
import { exchange, progress } from './exchange.js'
import { choosing, home, jobPage } from './jobs.js'
import { again } from './kept.js'
import { scanPage } from './scan.js'
import { h, mark } from './screen.js'
import { line, standing, warnings } from './standing.js'
import { enrolment, mine, signInPage, unable } from './start.js'
import { surfacePage } from './surface.js'
import { waitingPage } from './waiting.js'

const every = 60000
const $ = (selector) => document.querySelector(selector)

const route = async () => {
  const parts = location.hash.replace(/^#\/?/, '').split('/').map(decodeURIComponent)
  const me = await device(), who = await present()
  if (parts[0] === 'enrol') return enrolment(parts[1])
  if (!me) return (await able()) ? enrolment() : unable()
  if (me.state === 'revoked') return waitingPage(true)
  if (!who || parts[0] === 'sign-in') return signInPage()
  const [a, job, , surface, layer, what] = parts
  if (a === '') return home()
  if (a === 'take') return choosing()
  if (a === 'scan') return scanPage(job)
  if (a === 'waiting') return waitingPage()
  if (a === 'you') return mine()
  if (a === 'j' && parts.length === 2) return jobPage(job)
  if (a === 'j' && parts[2] === 'note') return deedPage(job, undefined, 0, 'note')
  if (a === 'j' && parts.length === 4) return surfacePage(job, surface)
  if (a === 'j' && parts.length === 6) return deedPage(job, surface, layer, what)
  return home()
}

const head = async () => {
  const s = await standing(), l = line(s), inside = s.me && s.me.state !== 'revoked' && s.who
  const nav = inside ? [['Jobs', '#/'], ['To be sent', '#/waiting'], ['Scan', '#/scan'], ['You', '#/you']] : []
  $('#nav').replaceChildren(...nav.map(([text, href]) => h('li', {}, h('a', { href, 'aria-current': location.hash === href || (href === '#/' && location.hash === '') ? 'page' : undefined }, text))))
  const says = [l.says, ...(location.hash === '#/waiting' ? [] : warnings(s))].join(' ')
  if ($('#line').dataset.says !== says + l.text) {
    $('#line').dataset.says = says + l.text
    $('#line').replaceChildren(mark(l.mark) || '', h('span', {}, says, l.text && ' ', l.text && h('a', { href: l.to }, l.text)))
  }
  $('#who').textContent = inside ? `${s.who.name}, on this phone.` : ''
}

const openForm = () => [...document.querySelectorAll('#main form')].find((f) => f.dirty?.() && !f.saved)

// Screens are drawn one after the other; one that waits already stands for all that were asked for since.
let turn = Promise.resolve(), waits = 0, wanted = false
const draw = (focus) => {
  wanted ||= focus
  if (waits > 0) return turn
  waits++
  document.documentElement.dataset.busy = 'true'
  turn = turn.then(async () => {
    waits--
    focus = wanted
    wanted = false
    await head()
    await route()
    if (focus) {
      scrollTo(0, 0)
      $('#main').focus({ preventScroll: true })
    }
  }).catch((err) => {
    console.error(err)
    $('#main').replaceChildren(h('h1', {}, 'This did not work.'), h('p', { class: 'also' }, `Nothing that was saved is lost. ${err.message}`))
  }).finally(() => { if (waits === 0) delete document.documentElement.dataset.busy })
  return turn
}

// send runs an exchange, and afterwards fetches anew what was taken along.
let sending = null
export const send = () =>
  (sending ??= (async () => {
    try {
      if (!(await device()) || !(await present())?.refresh || !navigator.onLine) return
      if ((await exchange()) === '') await again().catch(() => {})
    } finally {
      sending = null
      await head()
    }
  })())

// A new version waits until it is asked for, and it is not offered while something is typed in.
let changing = false
const offer = (worker) => {
  if ($('.changed')) return
  $('#line').after(h('p', { class: 'changed', role: 'status' }, 'A new version is ready. ', h('button', { class: 'plain', type: 'button', onclick: (event) => {
    if (openForm()) {
      event.target.before('Finish what you are recording first. ')
      return
    }
    changing = true
    worker.postMessage('go on')
  } }, 'Change over')))
}

const worker = async () => {
  if (!navigator.serviceWorker) return
  const had = navigator.serviceWorker.controller
  navigator.serviceWorker.addEventListener('controllerchange', () => {
    if ((had || changing) && !openForm()) location.reload()
  })
  const at = await navigator.serviceWorker.register('/phone/sw.js', { scope: '/', updateViaCache: 'none' })
  if (at.waiting && had) offer(at.waiting)
  at.addEventListener('updatefound', () => {
    const next = at.installing
    next?.addEventListener('statechange', () => next.state === 'installed' && navigator.serviceWorker.controller && offer(next))
  })
  addEventListener('online', () => at.update().catch(() => {}))
}

addEventListener('hashchange', () => draw(true))
addEventListener('tacet', (event) => {
  head()
  const onWaiting = location.hash.startsWith('#/waiting')
  const redraw = { account: true, kept: !onWaiting, recorded: onWaiting, exchanged: onWaiting, sending: onWaiting }[event.detail]
  // A form is never drawn anew under the fingers; only when somebody else takes the phone over.
  if (event.detail === 'account' || (redraw && !$('#main form'))) draw(false)
  if (event.detail === 'account') send()
})
addEventListener('online', () => { head(); send() })
addEventListener('offline', head)
document.addEventListener('visibilitychange', () => document.visibilityState === 'visible' && send())
addEventListener('beforeunload', (event) => openForm() && event.preventDefault())
setInterval(send, every)

await draw(false)
document.documentElement.dataset.ready = 'true'
performance.mark('ready')
worker().catch((err) => console.warn('no service worker', err))
send()

// What the waiting page and tests read.
export { progress }
