//! The orders to be built and the rules for their order, as plain data.

use crate::Fault;
use crate::plan::Plan;

pub use crate::holds::Hold;

/// Cars that are alike in all that the rules see.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Class {
    /// Name.
    pub name: String,
    /// Cars to build, the frozen ones included.
    pub count: u32,
    /// For each option whether the cars have it.
    pub options: Vec<bool>,
    /// Position of the colour in [`Colours::names`]. Cars without one are
    /// taken to be of one more colour, where others have one.
    pub colour: Option<usize>,
}

/// How a rule is meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Force {
    /// It must hold; an order that breaks it is worse than any that does not.
    Hard,
    /// A break costs so much.
    Soft(u32),
}

/// No more than so many cars with an option among any so many in a row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rule {
    /// Position of the option in [`Problem::options`].
    pub option: usize,
    /// Most cars with the option.
    pub at_most: u32,
    /// In any so many cars in a row.
    pub in_every: u32,
    /// Hard or soft.
    pub force: Force,
}

/// How breaks of a spacing rule are counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Counted {
    /// Each run of `in_every` cars that exceeds the rule counts as 1.
    Windows,
    /// Each run of `in_every` cars counts the cars above the rule.
    Excess,
}

/// Colours and their blocks.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Colours {
    /// Names.
    pub names: Vec<String>,
    /// Most cars of one colour in a row; must hold.
    pub max_block: Option<u32>,
    /// What a change of colour costs.
    pub change_weight: u32,
}

/// Parts, or anything else that cars use, and should use evenly.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Part {
    /// Name.
    pub name: String,
    /// For each class, how many a car uses.
    pub per_car: Vec<u32>,
}

/// Level use: the sum over all places and parts of the squared distance
/// between what was used up to there and the level line (Monden, Toyota
/// Production System).
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Level {
    /// What a unit of the sum costs; 0 for no levelling.
    pub weight: u32,
    /// What is to be used evenly.
    pub parts: Vec<Part>,
}

/// A promise: so many cars of a class among the first so many of the order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Promise {
    /// The class.
    pub class: usize,
    /// How many cars.
    pub count: u32,
    /// Among the first so many cars.
    pub within: u32,
    /// Hard, or what a late car costs.
    pub force: Force,
}

/// Something that an order is judged by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Goal {
    /// A soft rule, by its position.
    Rule(usize),
    /// Changes of colour.
    Colours,
    /// Level use.
    Level,
    /// Soft promises.
    Promises,
    /// By how many places cars come behind their promises, hard ones too, in
    /// steps that widen. Weighed only where goals are ordered.
    Lateness,
}

/// How goals stand to one another. What must hold comes before all.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Goals {
    /// All in one sum.
    Weighted,
    /// Groups in strict order; no amount of a later group outweighs one unit of
    /// an earlier one. At most four. What is in none is in no cost; where there
    /// are no groups every order that holds what must hold is as good.
    Ordered(Vec<Vec<Goal>>),
}

impl Goals {
    /// Whether something is among the goals.
    pub(crate) fn hold(&self, goal: Goal) -> bool {
        match self {
            Self::Weighted => true,
            Self::Ordered(groups) => groups.iter().any(|group| group.contains(&goal)),
        }
    }
}

/// Which cars are to be ordered, and how an order is judged.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// The classes.
    pub classes: Vec<Class>,
    /// The names of the options.
    pub options: Vec<String>,
    /// The spacing rules.
    pub rules: Vec<Rule>,
    /// How their breaks are counted.
    pub counted: Counted,
    /// Whether runs of cars that reach past the end count too, the places
    /// behind it being empty.
    pub past_end: bool,
    /// Colours.
    pub colours: Colours,
    /// Level use.
    pub level: Level,
    /// Promises.
    pub promises: Vec<Promise>,
    /// Cars that are not there from the start.
    pub holds: Vec<Hold>,
    /// Classes of the cars built before, the last one last. The rules reach
    /// back into them; what lies wholly among them is not counted.
    pub previous: Vec<usize>,
    /// Classes of the first cars of the order, which stay where they are.
    pub frozen: Vec<usize>,
    /// Places there are, where that is a limit.
    pub slots: Option<u32>,
    /// How goals stand to one another.
    pub goals: Goals,
}

/// Most cars, previous ones included, that the solver takes.
pub const MOST_CARS: usize = 20_000;

/// Most rules that the solver takes.
pub const MOST_RULES: usize = 64;

impl Problem {
    /// A problem with no classes, rules or goals.
    pub const fn empty() -> Self {
        Self {
            classes: Vec::new(),
            options: Vec::new(),
            rules: Vec::new(),
            counted: Counted::Windows,
            past_end: false,
            colours: Colours {
                names: Vec::new(),
                max_block: None,
                change_weight: 0,
            },
            level: Level {
                weight: 0,
                parts: Vec::new(),
            },
            promises: Vec::new(),
            holds: Vec::new(),
            previous: Vec::new(),
            frozen: Vec::new(),
            slots: None,
            goals: Goals::Weighted,
        }
    }

    /// Cars to be ordered.
    pub fn cars(&self) -> usize {
        self.classes.iter().map(|class| class.count as usize).sum()
    }

    /// Cars of all classes that have an option.
    pub(crate) fn cars_with(&self, option: usize) -> u32 {
        let having = |class: &&Class| class.options.get(option) == Some(&true);
        let counts = self.classes.iter().filter(having).map(|class| class.count);
        counts.sum()
    }

    /// What has a weight and is in no goal, so that the order is judged without
    /// it; what must hold is never among it.
    ///
    /// ```
    /// use sequence::model::{Force, Goal, Goals, Problem, Rule};
    ///
    /// let problem = Problem {
    ///     options: vec!["sunroof".into()],
    ///     rules: vec![Rule { option: 0, at_most: 1, in_every: 2, force: Force::Soft(1) }],
    ///     goals: Goals::Ordered(vec![vec![Goal::Colours]]),
    ///     ..Problem::empty()
    /// };
    /// assert_eq!(problem.not_minded(), [Goal::Rule(0)]);
    /// ```
    pub fn not_minded(&self) -> Vec<Goal> {
        let weighs = |force: Force| matches!(force, Force::Soft(weight) if weight > 0);
        let rules = self.rules.iter().enumerate();
        let rules = rules.filter(|(_, rule)| weighs(rule.force));
        let mut goals: Vec<Goal> = rules.map(|(at, _)| Goal::Rule(at)).collect();
        goals.extend((self.colours.change_weight > 0).then_some(Goal::Colours));
        goals.extend((self.level.weight > 0).then_some(Goal::Level));
        let promised = self.promises.iter().any(|promise| weighs(promise.force));
        goals.extend(promised.then_some(Goal::Promises));
        goals.retain(|goal| !self.goals.hold(*goal));
        goals
    }

    /// The longest block, where any class has a colour.
    pub(crate) fn longest_block(&self) -> Option<u32> {
        let painted = self.classes.iter().any(|class| class.colour.is_some());
        self.colours.max_block.filter(|_| painted)
    }

    /// Makes the problem ready to be solved.
    ///
    /// # Errors
    ///
    /// Everything that makes no sense; never an empty list.
    pub fn check(&self) -> Result<Checked, Vec<Fault>> {
        let faults = crate::check::faults(self);
        if faults.is_empty() {
            Ok(Checked {
                plan: Plan::new(self),
                problem: self.clone(),
            })
        } else {
            Err(faults)
        }
    }
}

/// A problem that makes sense.
#[derive(Clone, Debug)]
pub struct Checked {
    pub(crate) problem: Problem,
    pub(crate) plan: Plan,
}

impl Checked {
    /// The problem as it was given.
    pub const fn problem(&self) -> &Problem {
        &self.problem
    }
}
