//! The one macro that declares formulas.
//!
//! A declaration is everything that is ever said about a formula. The macro
//! makes of it a typed function, a struct where there are several results, a
//! [`Formula`](crate::Formula) for the catalogue, and the module's list of
//! formulas, so that none of the four can differ from the others and no
//! formula can be left out of the sheet.

/// Declares the formulas of one shop.
///
/// ```text
/// sheet! {
///     shop "Heading in the handbook";
///
///     /// What it tells, in a paragraph.            about, and the function's doc
///     fn net_time "Title" (                         name net-time
///         shifts: Count, POSITIVE, "meaning";       symbol: kind, legal range, meaning
///     ) -> {                                        `-> struct NetTime {` for several
///         net_time: Minutes, "meaning";             results
///     }
///     is "net_time = ...";                          in symbols, steps parted by `; `
///     source "published source";
///     caution "what can hurt";                      optional
///     needs "what must hold together", condition;   any number
///     { expression of the symbols }                 the one computation
/// }
/// ```
///
/// A new formula also wants an example in `checks/shops`; a test says so.
macro_rules! sheet {
    (
        shop $shop:literal;
        $(
            $(#[doc = $about:literal])+
            fn $name:ident $title:literal
            ( $( $symbol:ident : $kind:ty, $range:expr, $meaning:literal; )+ )
            -> $( struct $outcome:ident )? { $( $result:ident : $yields:ty, $told:literal; )+ }
            is $expression:literal;
            source $source:literal;
            $( caution $caution:literal; )?
            $( needs $need:literal, $holds:expr; )*
            $body:block
        )+
    ) => {
        $(
            $(#[doc = $about])+
            #[doc = concat!("\n`", $expression, "`\n")]
            #[doc = "# Symbols"]
            $( #[doc = concat!("* `", stringify!($symbol), "`: ", $meaning)] )+
            #[doc = "\n# Results"]
            $( #[doc = concat!("* `", stringify!($result), "`: ", $told)] )+
            #[doc = "\n# Errors"]
            #[doc = "When an input is out of its legal range or inputs do not go together."]
            #[doc = concat!("\n# Source\n", $source)]
            $( #[doc = concat!("\n# Caution\n", $caution)] )?
            #[allow(clippy::too_many_arguments, reason = "a formula takes the symbols it has")]
            pub fn $name(
                $( $symbol: impl Into<$crate::Sourced<$kind>> ),+
            ) -> Result<
                $crate::Figure<$crate::declare::yielded!($($outcome)? { $( $yields ),+ })>,
                $crate::Refusal,
            > {
                $name::FORMULA.figure(vec![ $( $symbol.into().erase() ),+ ])
            }
            $( pub use $name::$outcome; )?

            mod $name {
                #[allow(unused_imports, reason = "not every formula names all of them")]
                use super::*;

                $crate::declare::outcome!($name $($outcome)? { $( $result: $yields, $told; )+ });

                pub(super) static FORMULA: $crate::Formula = $crate::Formula {
                    name: $crate::declare::kebab!($name),
                    shop: $shop,
                    title: $title,
                    about: concat!($($about),+),
                    symbols: &[ $( $crate::Symbol {
                        name: stringify!($symbol),
                        meaning: $meaning,
                        unit: <$kind as $crate::Amount>::UNIT,
                        list: <$kind as $crate::Amount>::LIST,
                        range: $range,
                    } ),+ ],
                    results: &[ $( $crate::Symbol {
                        name: stringify!($result),
                        meaning: $told,
                        unit: <$yields as $crate::Amount>::UNIT,
                        list: <$yields as $crate::Amount>::LIST,
                        range: $crate::range::ANY,
                    } ),+ ],
                    expression: $expression,
                    needs: &[ $( $need ),* ],
                    source: $source,
                    caution: $crate::declare::caution!($($caution)?),
                    unmet,
                    compute,
                };

                #[allow(unused_variables, unused_mut, reason = "not every need names all symbols")]
                fn unmet(values: &[$crate::Value]) -> Vec<&'static str> {
                    let mut values = values.iter();
                    $( let $symbol = <$kind as $crate::Amount>::from_value(values.next()); )+
                    let mut unmet = Vec::new();
                    $(
                        let holds: bool = $holds;
                        if !holds {
                            unmet.push($need);
                        }
                    )*
                    unmet
                }

                fn compute(values: &[$crate::Value]) -> Vec<$crate::Value> {
                    let mut values = values.iter();
                    $( let $symbol = <$kind as $crate::Amount>::from_value(values.next()); )+
                    let outcome: $crate::declare::yielded!($($outcome)? { $( $yields ),+ }) = $body;
                    $crate::Outcome::to_values(&outcome)
                }
            }
        )+

        /// The formulas of this shop, in the order of the handbook.
        pub(crate) static SHEET: &[&$crate::Formula] = &[ $( &$name::FORMULA ),+ ];
    };
}

/// The type a formula yields: its one result, or the struct of its results.
macro_rules! yielded {
    ({ $yields:ty }) => {
        $yields
    };
    ($outcome:ident { $( $yields:ty ),+ }) => {
        $outcome
    };
}

/// The struct of a formula's results, where there are several.
macro_rules! outcome {
    ($name:ident { $result:ident : $yields:ty, $told:literal; }) => {};
    ($name:ident $outcome:ident { $( $result:ident : $yields:ty, $told:literal; )+ }) => {
        #[doc = concat!("The results of [`", stringify!($name), "()`].")]
        #[derive(Clone, Debug, PartialEq, serde::Serialize, serde::Deserialize)]
        pub struct $outcome {
            $(
                #[doc = $told]
                pub $result: $yields,
            )+
        }

        impl $crate::Outcome for $outcome {
            fn to_values(&self) -> Vec<$crate::Value> {
                vec![ $( $crate::Amount::to_value(&self.$result) ),+ ]
            }
            fn from_values(values: &[$crate::Value]) -> Self {
                let mut values = values.iter();
                Self { $( $result: $crate::Amount::from_value(values.next()) ),+ }
            }
        }
    };
}

macro_rules! caution {
    () => {
        None
    };
    ($caution:literal) => {
        Some($caution)
    };
}

/// `design_cycle` as `"design-cycle"`.
macro_rules! kebab {
    ($name:ident) => {{
        const SNAKE: &str = stringify!($name);
        const KEBAB: [u8; SNAKE.len()] = $crate::declare::kebab_bytes(SNAKE);
        match std::str::from_utf8(&KEBAB) {
            Ok(name) => name,
            Err(_) => SNAKE,
        }
    }};
}

pub(crate) const fn kebab_bytes<const N: usize>(snake: &str) -> [u8; N] {
    let snake = snake.as_bytes();
    let mut kebab = [0; N];
    let mut position = 0;
    while position < N {
        kebab[position] = if snake[position] == b'_' {
            b'-'
        } else {
            snake[position]
        };
        position += 1;
    }
    kebab
}

pub(crate) use {caution, kebab, outcome, sheet, yielded};
