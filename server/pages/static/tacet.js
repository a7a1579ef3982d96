// Small comforts. Every page does its work without them.

// A second tap on a slow device must not send a form twice, and a form that takes long says that it is at work.
const sent = new Set()
const work = (form) => {
  const says = form.querySelector('.busy'), began = Date.now()
  if (!says) return
  const say = () => {
    if (!sent.has(form)) return
    const seconds = Math.round((Date.now() - began) / 1000)
    says.textContent = form.dataset.busy + (seconds < 5 ? '' : ` ${seconds} seconds so far.`)
    setTimeout(say, 5000)
  }
  say()
}
for (const form of document.querySelectorAll('form')) {
  form.addEventListener('submit', (event) => {
    if (sent.has(form)) return event.preventDefault()
    sent.add(form)
    work(form)
  })
}
// Whoever comes back with the browser's own button may send again, with all that was typed still there.
window.addEventListener('pageshow', (event) => {
  if (!event.persisted) return
  sent.clear()
  for (const says of document.querySelectorAll('.busy')) says.textContent = ''
  refresh()
})

// Photos are shown as soon as they are chosen, before anything is sent.
for (const input of document.querySelectorAll('input[type=file]')) {
  const place = document.querySelector(`[data-for="${input.id}"]`)
  if (!place) continue
  input.addEventListener('change', () => {
    place.replaceChildren()
    for (const file of input.files) {
      const url = URL.createObjectURL(file)
      const img = document.createElement('img')
      img.alt = file.name
      img.addEventListener('load', () => URL.revokeObjectURL(url))
      img.src = url
      place.append(img)
    }
  })
}

// A signature is drawn with a finger on the page, and sent as the picture of its field.
for (const pad of document.querySelectorAll('[data-pen]')) {
  const form = pad.closest('form'), photos = document.getElementById(pad.dataset.pen), again = pad.nextElementSibling
  const name = 'signature.png', ink = pad.getContext('2d')
  const put = (picture) => {
    const files = new DataTransfer()
    for (const file of photos.files) if (file.name !== name) files.items.add(file)
    if (picture) files.items.add(picture)
    photos.files = files.files
    photos.dispatchEvent(new Event('change'))
  }
  let at, drawn = false
  const wipe = () => {
    ink.fillStyle = '#fff'
    ink.fillRect(0, 0, pad.width, pad.height)
    if (drawn) put()
    drawn = false
  }
  const spot = (event) => [event.offsetX * pad.width / pad.clientWidth, event.offsetY * pad.height / pad.clientHeight]
  const line = (event) => {
    if (!at) return
    ink.beginPath()
    ink.moveTo(...at)
    at = spot(event)
    ink.lineTo(...at)
    ink.stroke()
  }
  const lift = () => {
    if (!at) return
    at = undefined
    drawn = true
    put(new File([Uint8Array.from(atob(pad.toDataURL('image/png').split(',')[1]), (c) => c.charCodeAt(0))], name, { type: 'image/png' }))
  }
  pad.addEventListener('pointerdown', (event) => {
    pad.setPointerCapture(event.pointerId)
    Object.assign(ink, { lineWidth: 4, lineCap: 'round', lineJoin: 'round', strokeStyle: '#000' })
    at = spot(event)
    line(event)
  })
  pad.addEventListener('pointermove', line)
  for (const event of ['pointerup', 'pointercancel']) pad.addEventListener(event, lift)
  again.addEventListener('click', wipe)
  const show = () => {
    pad.hidden = again.hidden = form.elements.means.value !== 'finger'
    if (pad.hidden && drawn) wipe()
  }
  for (const option of form.elements.means) option.addEventListener('change', show)
  wipe()
  show()
}

// A link to a layer or a check opens what it points into.
const open = () => {
  const target = location.hash && document.getElementById(location.hash.slice(1))
  const closed = target && (target.querySelector('details') || target.closest('details'))
  if (closed) closed.open = true
}
window.addEventListener('hashchange', open)
open()

// A page that is left open asks whether it still holds: at once where the program can tell that there is something new, and now
// and then in any case. It is never changed under the reader's hands: the line on what is sent is, and a list that nobody
// touches; else, if the answer is another one, that is said. The answer to a form is not asked for again: its address is another page, or none.
const answer = (doc) => ['h1', '.state', '.says'].map((s) => [...doc.querySelectorAll(`main ${s}`)].map((e) => e.textContent).join()).join()
let shown = answer(document)
let touched = 0
for (const event of ['pointerdown', 'keydown', 'wheel', 'touchmove']) window.addEventListener(event, () => { touched = Date.now() }, { passive: true })
const filledIn = (e) => e.value !== e.defaultValue && e.type !== 'hidden' || e.checked !== e.defaultChecked
const untouched = (main) => Date.now() - touched > 5000 && !main.querySelector('details[open]') && getSelection().isCollapsed &&
  ![...main.querySelectorAll('input, textarea')].some(filledIn) && (document.activeElement === main || !main.contains(document.activeElement))
const refresh = async () => {
  if (document.hidden || !('again' in document.body.dataset)) return
  try {
    const reply = await fetch(location.href)
    if (!reply.ok || reply.redirected) return
    const now = new DOMParser().parseFromString(await reply.text(), 'text/html')
    const line = document.querySelector('.line'), fresh = now.querySelector('.line')
    if (line && fresh && line.textContent !== fresh.textContent) line.replaceWith(document.adoptNode(fresh))
    if (answer(now) === shown || document.querySelector('.changed')) return
    const main = document.querySelector('main[data-live]'), newer = now.querySelector('main[data-live]')
    if (main && newer && untouched(main)) {
      main.replaceChildren(...document.adoptNode(newer).childNodes)
      document.title = now.title
      shown = answer(document)
      return
    }
    const note = document.createElement('p'), link = document.createElement('a')
    note.className = 'changed'
    note.setAttribute('role', 'status')
    link.href = location.href
    link.textContent = 'Show it'
    link.addEventListener('click', (event) => { event.preventDefault(); location.reload() })
    note.append('The record has changed since this page was shown. ', link)
    document.querySelector('main').prepend(note)
  } catch {
    // No connection, or the program was stopped: the page stays as it is.
  }
}
setInterval(refresh, 60000)
for (const event of ['online', 'focus']) window.addEventListener(event, refresh)

// News that come fast are looked at together.
let asking = false, more = false
const lookSoon = async () => {
  more = true
  if (asking) return
  asking = true
  while (more) {
    more = false
    await refresh()
    await new Promise((done) => setTimeout(done, 500))
  }
  asking = false
}

// Only pages that are seen listen: a browser keeps few lines open to one host. Whoever comes back hears the position first.
let line
const listen = () => {
  const at = document.body.dataset
  if (line && (document.hidden || line.readyState === EventSource.CLOSED)) {
    line.close()
    line = undefined
  }
  if (line || document.hidden || !at.at) return
  line = new EventSource('/live')
  line.addEventListener('at', (event) => {
    if (event.data === at.at) return
    at.at = event.data
    lookSoon()
  })
}
document.addEventListener('visibilitychange', listen)
window.addEventListener('pagehide', () => { if (line) line.close() })
window.addEventListener('pageshow', listen)
setInterval(listen, 60000) // a line that was refused is tried again
listen()

// A sheet that is being written is worked out again while people type, as its own button does: what they type is sent as it stands,
// and only what it comes to is changed on the page, never a field.
for (const form of document.querySelectorAll('[data-live-form]')) {
  const note = document.querySelector('[data-live-note]')
  let waiting, asked = 0
  const ask = async () => {
    const mine = ++asked
    const data = new FormData(form)
    data.set('act', form.dataset.liveForm)
    try {
      const reply = await fetch(location.href, { method: 'POST', body: new URLSearchParams(data) })
      const now = new DOMParser().parseFromString(await reply.text(), 'text/html')
      if (mine !== asked) return
      const wrong = now.querySelector('.errors li')
      note.textContent = wrong ? `Not worked out: ${wrong.textContent}` : ''
      if (!reply.ok) return
      for (const place of document.querySelectorAll('[data-live]')) {
        const fresh = now.querySelector(`[data-live="${place.dataset.live}"]`)
        if (fresh && fresh.innerHTML !== place.innerHTML) place.replaceChildren(...document.adoptNode(fresh).childNodes)
      }
    } catch {
      // No connection: the button says so when it is pressed.
    }
  }
  form.addEventListener('input', () => {
    clearTimeout(waiting)
    waiting = setTimeout(ask, 400)
  })
  form.addEventListener('submit', () => { asked++ })
}

// What is typed outlives a page that is reloaded by mistake, left with the back button, or answered by no connection: it is kept in
// this tab until it was sent, or until somebody signs out. Secrets are not.
const drafts = 'typed '
const draftOf = drafts + location.pathname + location.search
const mayKeep = (form) => form.elements.form && !form.querySelector('[type=password], [autocomplete=one-time-code]')
const controls = (form) => [...form.elements].filter((e) => e.name && e.willValidate !== false && !['hidden', 'file', 'submit'].includes(e.type))
const kept = () => Object.keys(sessionStorage).filter((k) => k.startsWith(drafts))
const formsKept = [...document.forms].filter(mayKeep)
const keepTyped = () => {
  const typed = formsKept.map((f) => controls(f).map((e) => [e.name, e.value, !!e.checked]))
  try { sessionStorage.setItem(draftOf, JSON.stringify({ typed })) } catch { /* no room: the page works without it */ }
}
const bringBack = () => {
  const { typed } = JSON.parse(sessionStorage.getItem(draftOf))
  formsKept.forEach((form, i) => {
    const left = typed[i] || []
    for (const e of controls(form)) {
      const picked = e.type === 'radio' || e.type === 'checkbox'
      const at = left.findIndex(([name, value]) => name === e.name && (!picked || value === e.value))
      if (at < 0) continue
      const [[, value, checked]] = left.splice(at, 1)
      if (picked ? e.checked === checked : e.value === value) continue
      if (picked) e.checked = checked
      else e.value = value
      e.dispatchEvent(new Event('input', { bubbles: true }))
      e.dispatchEvent(new Event('change', { bubbles: true }))
      e.closest('details')?.setAttribute('open', '')
    }
  })
}
for (const k of kept()) {
  const was = JSON.parse(sessionStorage.getItem(k))
  if (was.sent && k !== draftOf) sessionStorage.removeItem(k) // it was taken: its answer is another page
}
if (draftOf in sessionStorage) {
  const came = performance.getEntriesByType('navigation')[0]?.type
  if ('again' in document.body.dataset && (came === 'reload' || came === 'back_forward')) bringBack()
  else sessionStorage.removeItem(draftOf)
}
for (const form of formsKept) {
  for (const kind of ['input', 'change']) form.addEventListener(kind, keepTyped)
  form.addEventListener('submit', () => {
    if (draftOf in sessionStorage) sessionStorage.setItem(draftOf, JSON.stringify({ ...JSON.parse(sessionStorage.getItem(draftOf)), sent: true }))
  })
}
document.querySelector('form[action="/sign-out"]')?.addEventListener('submit', () => sessionStorage.clear())
