//! Core on wasm32, to be asked the same questions as core on this machine.
//!
//! The interface is three functions and the memory, and the module imports nothing:
//!
//! - `probe_alloc(len) -> ptr`: room for `len` bytes, to be written by the host;
//! - `probe_run(ptr, len) -> u64`: takes that room back, and answers with the place of the
//!   answer, `ptr << 32 | len`;
//! - `probe_free(ptr, len)`: gives an answer's room back.
//!
//! What is asked and answered is in `answer.rs`, a file that the native test compiles as well.

mod answer;

/// Room for `len` bytes. Freed by [`probe_run`] or [`probe_free`] with the same length.
#[unsafe(no_mangle)]
pub extern "C" fn probe_alloc(len: usize) -> *mut u8 {
    Box::into_raw(vec![0u8; len].into_boxed_slice()).cast()
}

/// Frees `len` bytes at `ptr`.
///
/// # Safety
/// The pair must come from [`probe_alloc`] or from [`probe_run`] and not have been freed.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn probe_free(ptr: *mut u8, len: usize) {
    // SAFETY: the caller vouches for the pair.
    drop(unsafe { taken(ptr, len) });
}

/// Frees the question at `ptr` and answers it.
///
/// # Safety
/// The pair must come from [`probe_alloc`] and not have been freed.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn probe_run(ptr: *mut u8, len: usize) -> u64 {
    // SAFETY: the caller vouches for the pair.
    let question = unsafe { taken(ptr, len) };
    let answer = answer::answer(&question).into_boxed_slice();
    let len = answer.len();
    let ptr: *mut u8 = Box::into_raw(answer).cast();
    ((ptr as u64) << 32) | len as u64
}

/// The box that `into_raw` took apart.
///
/// # Safety
/// The pair must come from [`probe_alloc`] or from [`probe_run`] and not have been freed.
unsafe fn taken(ptr: *mut u8, len: usize) -> Box<[u8]> {
    // SAFETY: both make a boxed slice of exactly `len` bytes with this module's allocator.
    unsafe { Box::from_raw(core::ptr::slice_from_raw_parts_mut(ptr, len)) }
}

/// The random source some dependency asks for: a fixed pattern.
///
/// Automerge draws an actor whenever it makes or loads a document, and panics where it cannot;
/// core puts an actor of its own in the place. On this machine that draw is truly random, so
/// equal answers also show that nothing random gets into them.
///
/// # Safety
/// `dest` must be valid for writes of `len` bytes.
#[unsafe(no_mangle)]
unsafe extern "Rust" fn __getrandom_v03_custom(dest: *mut u8, len: usize) -> Result<(), getrandom::Error> {
    // SAFETY: the caller vouches for the place.
    unsafe { dest.write_bytes(0x5a, len) };
    Ok(())
}
