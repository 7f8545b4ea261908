//! A field of a happening as keys of a JSON object, and back.

use crate::log::Id;
use serde_json::{Map, Value};

/// Field and cause.
pub(super) type Wrong = (String, String);

/// A field.
pub(super) trait Fact: Sized {
    fn put(&self, name: &str, out: &mut Map<String, Value>);
    fn take(name: &str, from: &Map<String, Value>) -> Result<Self, Wrong>;
}

/// One JSON value.
pub(super) trait Plain: Sized {
    fn value(&self) -> Value;
    fn of(value: &Value) -> Result<Self, String>;
}

impl<T: Plain> Fact for Option<T> {
    fn put(&self, name: &str, out: &mut Map<String, Value>) {
        if let Some(x) = self {
            out.insert(name.to_string(), x.value());
        }
    }

    fn take(name: &str, from: &Map<String, Value>) -> Result<Self, Wrong> {
        let of = |v| T::of(v).map_err(|cause| (name.to_string(), cause));
        from.get(name).filter(|v| !v.is_null()).map(of).transpose()
    }
}

impl Fact for Id {
    fn put(&self, name: &str, out: &mut Map<String, Value>) {
        out.insert(name.to_string(), self.to_string().into());
    }

    fn take(name: &str, from: &Map<String, Value>) -> Result<Self, Wrong> {
        let id = from.get(name).and_then(Value::as_str).and_then(Id::parse);
        id.ok_or_else(|| (name.to_string(), "is no id".to_string()))
    }
}

impl Plain for f64 {
    fn value(&self) -> Value {
        // Infinite ones become null.
        (*self).into()
    }

    fn of(value: &Value) -> Result<Self, String> {
        match value.as_f64().filter(|x| x.is_finite()) {
            Some(x) if x >= 0.0 => Ok(x),
            Some(x) => Err(format!("of {x} is less than none")),
            None => Err("is no number".into()),
        }
    }
}

impl Plain for u32 {
    fn value(&self) -> Value {
        (*self).into()
    }

    fn of(value: &Value) -> Result<Self, String> {
        value.as_u64().and_then(|n| Self::try_from(n).ok()).ok_or_else(|| "is no count".into())
    }
}

impl Plain for bool {
    fn value(&self) -> Value {
        (*self).into()
    }

    fn of(value: &Value) -> Result<Self, String> {
        value.as_bool().ok_or_else(|| "is neither true nor false".into())
    }
}

impl Plain for String {
    fn value(&self) -> Value {
        self.as_str().into()
    }

    fn of(value: &Value) -> Result<Self, String> {
        value.as_str().map(str::to_string).ok_or_else(|| "is no text".into())
    }
}
