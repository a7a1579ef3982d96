// Photos are written anew on the phone: no place, no camera, no time, at most 2,000 pixels a side, as JPEG; with a small one to show.
import { hashBlob } from './entry.js'

const side = 2000, small = 240, maxBytes = 12 << 20

const unreadable = (name) =>
  `${name}: this browser can't read the picture, so it was not saved. In the settings of the phone's camera choose JPEG as the format, then take it again.`

const scaled = async (bitmap, most, quality) => {
  const scale = Math.min(1, most / Math.max(bitmap.width, bitmap.height))
  const canvas = document.createElement('canvas')
  canvas.width = Math.max(1, Math.round(bitmap.width * scale))
  canvas.height = Math.max(1, Math.round(bitmap.height * scale))
  const pen = canvas.getContext('2d')
  pen.fillStyle = '#fff'
  pen.fillRect(0, 0, canvas.width, canvas.height)
  pen.imageSmoothingQuality = 'high'
  pen.drawImage(bitmap, 0, 0, canvas.width, canvas.height)
  const blob = await new Promise((done) => canvas.toBlob(done, 'image/jpeg', quality))
  canvas.width = canvas.height = 0 // phones give the memory back late otherwise
  if (blob?.type !== 'image/jpeg') throw new Error('This browser makes no JPEG pictures.')
  return blob
}

// prepare makes a photo that can be kept and sent; what is wrong is thrown as a sentence.
export const prepare = async (file) => {
  let bitmap
  try {
    bitmap = await createImageBitmap(file, { imageOrientation: 'from-image' })
  } catch {
    throw new Error(unreadable(file.name || 'Photo'))
  }
  try {
    let blob
    for (const quality of [0.85, 0.6, 0.4]) {
      blob = await scaled(bitmap, side, quality)
      if (blob.size <= maxBytes) break
    }
    const bytes = await blob.arrayBuffer(), thumb = await (await scaled(bitmap, small, 0.7)).arrayBuffer()
    return { h: await hashBlob(new Uint8Array(bytes)), bytes, thumb, size: bytes.byteLength }
  } finally {
    bitmap.close()
  }
}
