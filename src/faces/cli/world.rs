//! Where output goes, and the clock.

use super::JSON_SCHEMA;
use super::trouble::{Exit, Trouble};
use super::wire::{Document, Wrong};
use jiff::Timestamp;
use std::io::{self, BufWriter, ErrorKind, IsTerminal, Write};

/// Standard output and error, and the time at which the run began.
pub(super) struct World {
    out: Box<dyn Write>,
    err: Box<dyn Write>,
    json: bool,
    /// When the run began.
    pub(super) now: Timestamp,
}

impl World {
    pub(super) fn new(json: bool) -> Self {
        let out = BufWriter::new(Pipe { to: io::stdout(), closed: false });
        Self { out: Box::new(out), err: Box::new(io::stderr()), json, now: Timestamp::now() }
    }

    /// Shows a document: the one of this run, or with text one of several.
    pub(super) fn show(&mut self, document: &impl Document) -> io::Result<()> {
        if self.json { self.write_json(document) } else { self.text(document) }
    }

    /// Shows a part of a document as text, as soon as it is there. With `--json` the whole comes at the end, by
    /// [`World::whole`].
    pub(super) fn part(&mut self, part: &impl Document) -> io::Result<()> {
        if self.json { Ok(()) } else { self.text(part) }
    }

    /// Shows a document whose parts were shown as they came.
    pub(super) fn whole(&mut self, document: &impl Document) -> io::Result<()> {
        if self.json { self.write_json(document) } else { Ok(()) }
    }

    /// Hands on at once what was shown, while the run goes on.
    pub(super) fn flush(&mut self) -> io::Result<()> {
        self.out.flush()
    }

    /// Whether people read standard output in a terminal.
    pub(super) fn on_terminal(&self) -> bool {
        io::stdout().is_terminal()
    }

    /// Whether answers are JSON.
    pub(super) fn json(&self) -> bool {
        self.json
    }

    /// A line of plain words.
    pub(super) fn say(&mut self, words: &str) -> io::Result<()> {
        writeln!(self.out, "{words}")
    }

    /// A word on how things go, as text only, at once.
    pub(super) fn note(&mut self, words: &str) {
        if !self.json {
            let _ = writeln!(self.out, "{words}").and_then(|()| self.out.flush());
        }
    }

    /// Standard output, for what is neither text for people nor a document: an export.
    pub(super) fn raw(&mut self) -> &mut dyn Write {
        &mut *self.out
    }

    /// Reports one thing that went wrong while the run goes on.
    pub(super) fn report(&mut self, wrong: &Wrong) {
        // There is nowhere left to say that this could not be said.
        let _ = self.out.flush();
        let _ = writeln!(self.err, "error: {} [{}]\n  {}", wrong.sentence, wrong.code, wrong.remedy);
    }

    /// The same, of one photo of many, in one line.
    pub(super) fn report_in(&mut self, wrong: &Wrong, brief: bool) {
        if !brief {
            return self.report(wrong);
        }
        let _ = self.out.flush();
        let _ = writeln!(self.err, "error: {} [{}]. {}", wrong.sentence, wrong.code, wrong.remedy);
    }

    /// Reports what ends the run.
    pub(super) fn fail(&mut self, trouble: &Trouble) -> Exit {
        let wrong = Wrong::of(trouble);
        self.report(&wrong);
        if self.json {
            let _ = self.write_json(&super::wire::Failed { error: wrong });
        }
        trouble.exit()
    }

    /// Writes what is left to write.
    pub(super) fn finish(mut self, exit: Exit) -> Exit {
        match self.out.flush() {
            Ok(()) => exit,
            Err(e) => {
                self.report(&Wrong::of(&Trouble::Output(e)));
                Exit::Storage
            }
        }
    }

    fn text(&mut self, document: &impl Document) -> io::Result<()> {
        document.text(&mut *self.out)?;
        self.out.flush()
    }

    fn write_json(&mut self, document: &impl Document) -> io::Result<()> {
        #[derive(serde::Serialize)]
        struct Whole<'d, D> {
            schema: u32,
            #[serde(flatten)]
            document: &'d D,
        }
        serde_json::to_writer_pretty(&mut *self.out, &Whole { schema: JSON_SCHEMA, document })?;
        self.out.write_all(b"\n")
    }
}

/// An output whose reader may go away: the work goes on, the rest of the words are dropped.
struct Pipe<W> {
    to: W,
    closed: bool,
}

impl<W: Write> Pipe<W> {
    fn pass<T>(&mut self, dropped: T, write: impl FnOnce(&mut W) -> io::Result<T>) -> io::Result<T> {
        if self.closed {
            return Ok(dropped);
        }
        match write(&mut self.to) {
            Err(e) if e.kind() == ErrorKind::BrokenPipe => {
                self.closed = true;
                Ok(dropped)
            }
            other => other,
        }
    }
}

impl<W: Write> Write for Pipe<W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.pass(bytes.len(), |to| to.write(bytes))
    }

    fn flush(&mut self) -> io::Result<()> {
        self.pass((), Write::flush)
    }
}
