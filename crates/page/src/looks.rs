//! Children that look at clips: one for each clip that is open, a few at a time, started anew when one dies.

use std::path::{Path, PathBuf};
use std::process::Stdio;
use std::sync::Arc;
use std::time::Duration;

use serde_json::Value;
use tokio::io::{AsyncBufReadExt, AsyncReadExt, AsyncWriteExt, BufReader};
use tokio::process::{Child, ChildStdin, ChildStdout, Command};
use tokio::sync::Mutex;
use tokio::time::timeout;

use crate::child::{Ask, Draft};
use crate::error::PageError;

/// Children that are kept.
const KEPT: usize = 4;
/// How long an answer may take, s: a group of pictures of a large film, or a first look into a long folder.
const PATIENCE: Duration = Duration::from_secs(30);
/// Most bytes of a frame: 2^27 pixels of two bytes.
const LARGEST: usize = 1 << 28;

/// Which clip is looked at, and by which clock.
#[derive(Debug, Clone, PartialEq)]
pub struct View {
    /// The clip.
    pub clip: PathBuf,
    /// Capture rate, frames per second.
    pub rate: Option<f64>,
    /// Table of times.
    pub times: Option<PathBuf>,
}

struct Process {
    // Killed when dropped.
    _child: Child,
    ask: ChildStdin,
    answers: BufReader<ChildStdout>,
}

struct Look {
    view: View,
    process: Mutex<Option<Process>>,
}

/// The children.
pub struct Looks {
    program: PathBuf,
    open: Mutex<Vec<Arc<Look>>>,
}

fn died(why: &str) -> PageError {
    PageError::Child(why.to_owned())
}

impl Looks {
    /// None yet; `program` is this program.
    pub fn new(program: PathBuf) -> Self {
        Self {
            program,
            open: Mutex::new(Vec::new()),
        }
    }

    /// Asks about a clip: the answer and the bytes that follow it. A request that is given up is answered all the same, to nobody, so that
    /// the child stays in step.
    ///
    /// # Errors
    /// The child says why, dies, or does not answer in time; it is started anew the next time.
    pub async fn asked(&self, view: &View, ask: Ask) -> Result<(Value, Vec<u8>), PageError> {
        let look = self.of(view).await;
        let program = self.program.clone();
        let answer = tokio::spawn(async move { look.asked(&program, &ask).await });
        answer
            .await
            .unwrap_or_else(|_| Err(died("a fault of this program; please report it")))
    }

    /// Whether a clip is being looked at.
    pub async fn has(&self, view: &View) -> bool {
        self.open.lock().await.iter().any(|look| look.view == *view)
    }

    async fn of(&self, view: &View) -> Arc<Look> {
        let mut open = self.open.lock().await;
        if let Some(place) = open.iter().position(|look| look.view == *view) {
            let look = open.remove(place);
            open.push(look.clone());
            return look;
        }
        if open.len() >= KEPT {
            open.remove(0);
        }
        let look = Arc::new(Look {
            view: view.clone(),
            process: Mutex::new(None),
        });
        open.push(look.clone());
        look
    }

    /// Reads a draft and thinks it through, in a child, because the clip that it names is opened.
    ///
    /// # Errors
    /// The child dies or does not answer in time.
    pub async fn checked(&self, text: &str, file: &str, folder: &Path) -> Result<Value, PageError> {
        let draft = Draft {
            text: text.to_owned(),
            file: file.to_owned(),
            folder: folder.to_owned(),
        };
        let asked = serde_json::to_vec(&draft).map_err(|why| died(&why.to_string()))?;
        let mut command = Command::new(&self.program);
        command.arg("work").arg("check");
        let mut child = spawned(&mut command)?;
        let answer = async {
            if let Some(mut input) = child.stdin.take() {
                input.write_all(&asked).await?;
            }
            child.wait_with_output().await
        };
        let output = timeout(PATIENCE, answer)
            .await
            .map_err(|_| died("it took longer than 30 s"))?
            .map_err(|why| died(&why.to_string()))?;
        serde_json::from_slice(&output.stdout)
            .map_err(|_| died("its reader stopped; the file is probably damaged"))
    }
}

impl Look {
    async fn asked(&self, program: &Path, ask: &Ask) -> Result<(Value, Vec<u8>), PageError> {
        let mut slot = self.process.lock().await;
        let mut process = match slot.take() {
            Some(process) => process,
            None => self.begun(program)?,
        };
        let answer = timeout(PATIENCE, exchanged(&mut process, ask)).await;
        let (head, bytes) = match answer {
            Err(_) => return Err(died("it took longer than 30 s")),
            Ok(Err(why)) => {
                return Err(died(&format!(
                    "its reader stopped ({why}); the file is probably damaged"
                )));
            }
            Ok(Ok(answer)) => answer,
        };
        *slot = Some(process);
        match head.get("error").and_then(Value::as_str) {
            Some(why) => Err(died(why)),
            None => Ok((head, bytes)),
        }
    }

    fn begun(&self, program: &Path) -> Result<Process, PageError> {
        let mut command = Command::new(program);
        command.arg("work").arg("look").arg(&self.view.clip);
        if let Some(rate) = self.view.rate {
            command.arg("--rate").arg(rate.to_string());
        }
        if let Some(times) = &self.view.times {
            command.arg("--times").arg(times);
        }
        // Frames that leave the window go back to the system at once, where its C library listens to this.
        command.env("MALLOC_MMAP_THRESHOLD_", "65536");
        let mut child = spawned(&mut command)?;
        let pipes = child.stdin.take().zip(child.stdout.take());
        let (ask, answers) = pipes.ok_or_else(|| died("no pipe to its reader"))?;
        Ok(Process {
            _child: child,
            ask,
            answers: BufReader::with_capacity(1 << 20, answers),
        })
    }
}

/// A child of which nothing is left when it is no longer wanted.
///
/// # Errors
/// The system refuses another process.
pub fn spawned(command: &mut Command) -> Result<Child, PageError> {
    // Ctrl-C at the terminal is for the server; its children stop, tidily, when it is gone.
    #[cfg(unix)]
    command.process_group(0);
    command
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .kill_on_drop(true)
        .spawn()
        .map_err(|why| died(&format!("cannot start a process: {why}")))
}

async fn exchanged(process: &mut Process, ask: &Ask) -> std::io::Result<(Value, Vec<u8>)> {
    let mut line = serde_json::to_vec(ask).map_err(std::io::Error::other)?;
    line.push(b'\n');
    process.ask.write_all(&line).await?;
    let mut head = String::new();
    if process.answers.read_line(&mut head).await? == 0 {
        return Err(std::io::ErrorKind::UnexpectedEof.into());
    }
    let head: Value = serde_json::from_str(&head).map_err(std::io::Error::other)?;
    let size = head.get("bytes").and_then(Value::as_u64).unwrap_or(0);
    let size = usize::try_from(size).unwrap_or(usize::MAX);
    if size > LARGEST {
        return Err(std::io::Error::other("a frame larger than any"));
    }
    let mut bytes = vec![0; size];
    process.answers.read_exact(&mut bytes).await?;
    Ok((head, bytes))
}
