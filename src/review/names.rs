//! Names once, codes everywhere else: a column of a hundred thousand cases holds numbers.

use std::collections::HashMap;

/// A name's number; 0 is "not disclosed".
pub type Code = u32;

/// Names in the order they were first met.
#[derive(Debug, Clone)]
pub(super) struct Names {
    codes: HashMap<Box<str>, Code>,
    all: Vec<Box<str>>,
    /// What else is said of each name, for instance its title.
    titles: Vec<Box<str>>,
}

impl Default for Names {
    fn default() -> Self {
        Self { codes: HashMap::new(), all: vec!["".into()], titles: vec!["".into()] }
    }
}

impl Names {
    pub(super) fn code(&mut self, name: Option<&str>) -> Code {
        name.map_or(0, |name| self.titled(name, ""))
    }

    /// The code of a name; a title is kept from where one is first met.
    pub(super) fn titled(&mut self, name: &str, title: &str) -> Code {
        if let Some(code) = self.codes.get(name) {
            let kept = &mut self.titles[*code as usize];
            if kept.is_empty() && !title.is_empty() {
                *kept = title.into();
            }
            return *code;
        }
        let code = Code::try_from(self.all.len()).expect("a store names fewer than 2^32 things");
        self.codes.insert(name.into(), code);
        self.all.push(name.into());
        self.titles.push(title.into());
        code
    }

    pub(super) fn find(&self, name: &str) -> Option<Code> {
        self.codes.get(name).copied()
    }

    pub(super) fn name(&self, code: Code) -> &str {
        &self.all[code as usize]
    }

    pub(super) fn title(&self, code: Code) -> &str {
        let title = &self.titles[code as usize];
        if title.is_empty() { &self.all[code as usize] } else { title }
    }

    /// How many codes there are, the 0 included.
    pub(super) fn len(&self) -> usize {
        self.all.len()
    }
}
