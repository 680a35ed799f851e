// Keeps the screen on while something is watched.
import { useEffect, useState } from 'preact/hooks'

// useWakeLock holds the screen awake while on, where the browser can; it returns
// whether it is held. A page out of sight loses it, and takes it again when back.
export function useWakeLock(on: boolean): boolean {
  const [held, setHeld] = useState(false)
  useEffect(() => {
    if (!on || !('wakeLock' in navigator)) return undefined
    let lock: WakeLockSentinel | null = null
    let over = false
    let asking = false
    const take = async (): Promise<void> => {
      if (over || asking || lock || document.visibilityState !== 'visible') return
      asking = true
      try {
        const got = await navigator.wakeLock.request('screen')
        if (over) return void got.release()
        lock = got
        setHeld(true)
        got.addEventListener('release', () => {
          if (lock === got) lock = null
          if (!over) setHeld(false)
        })
      } catch {
        // The battery is low, or it is not allowed: the screen goes dark as ever.
      } finally {
        asking = false
      }
    }
    void take()
    document.addEventListener('visibilitychange', take)
    return () => {
      over = true
      document.removeEventListener('visibilitychange', take)
      void lock?.release().catch(() => undefined)
      setHeld(false)
    }
  }, [on])
  return held
}
