// The code on a sheet opens its surface: by the camera where the browser can read codes, else typed.
import { readCode } from './code.js'
import { complain, formOf } from './form.js'
import { list } from './kept.js'
import { answer, button, h, show, where } from './screen.js'

const notHere = 'No surface that was taken along has this code. With a signal, take its job along.'

const surfaceOf = async (code) => {
  for (const k of await list()) {
    const s = k.data.surfaces.find((x) => x.sheet === code)
    if (s) return `#/j/${k.job}/s/${encodeURIComponent(s.code)}`
  }
}

const openCode = async (typed) => {
  const to = await surfaceOf(readCode(typed))
  if (!to) throw new Error(notHere)
  return to
}

// sheetOn is the code of a sheet in what the camera read; '' for the code of something else.
const sheetOn = (read) => {
  try {
    return readCode(read)
  } catch {
    return ''
  }
}

const reader = async () => {
  if (!('BarcodeDetector' in globalThis) || !navigator.mediaDevices?.getUserMedia) return null
  try {
    return (await BarcodeDetector.getSupportedFormats()).includes('qr_code') ? new BarcodeDetector({ formats: ['qr_code'] }) : null
  } catch {
    return null
  }
}

// watch reads the camera until the code of a sheet that is here is seen or the page is left.
const watch = async (codes, form) => {
  const stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: 'environment' }, audio: false })
  try {
    const video = h('video', { class: 'camera', playsinline: true, 'aria-label': 'Camera' })
    video.muted = true
    video.srcObject = stream
    form.before(video)
    await video.play()
    let said = ''
    while (video.isConnected) {
      for (const code of (await codes.detect(video)).map((c) => sheetOn(c.rawValue)).filter(Boolean)) {
        const to = await surfaceOf(code)
        if (!video.isConnected) return
        if (to) {
          navigator.vibrate?.(80)
          location.hash = to
          return
        }
        if (said !== code) complain(form, [['', notHere]])
        said = code
      }
      await new Promise((done) => setTimeout(done, 200))
    }
  } finally {
    for (const t of stream.getTracks()) t.stop()
  }
}

export const scanPage = async (typed = '') => {
  if (typed) {
    try {
      location.replace(await openCode(typed))
      return
    } catch {
      // said below, beside what was typed
    }
  }
  const codes = await reader()
  const form = formOf({ submit: 'Open the surface', fields: [{ kind: 'text', name: 'code', label: 'Code of the sheet', hint: '13 letters and digits beneath the square code. O and 0, I and 1 are the same.', value: typed, missing: 'Write the code of the sheet: 13 letters and digits.' }] },
    async (v) => {
      location.hash = await openCode(v.code)
    })
  let looking = false // a second press opens no second camera
  const look = async () => {
    if (looking) return
    looking = true
    try {
      await watch(codes, form)
    } catch {
      if (form.isConnected) complain(form, [['', 'The camera can’t be used. Type the code instead.']])
    } finally {
      looking = false
    }
  }
  show('Open a sheet', where(['Jobs', '#/']), answer('Open a sheet by its code'),
    codes && button('Read it with the camera', look), form)
  if (typed) openCode(typed).catch((err) => complain(form, [['code', err.message]]))
}
