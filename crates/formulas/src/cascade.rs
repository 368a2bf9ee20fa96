//! What every stage must start so that the last one delivers: yields, rework
//! loops, absorbing chains.

use units::{Count, Share};

use crate::chain;
use crate::declare::sheet;
use crate::range::{NOT_NEGATIVE, SHARE, SOME_SHARE, WHOLE};

sheet! {
    shop "Requirement cascade";

    /// What a stage must start to deliver. Do not round between stages; round once, when
    /// whole lots or coils are released.
    fn input_from_yield "Input of a stage" (
        output: Count, NOT_NEGATIVE, "good pieces the stage must deliver in a period";
        good_share: Share, SOME_SHARE, "share of the pieces started that come out good";
    ) -> {
        input: Count, "pieces to start in the same period";
    }
    is "input = output / good_share";
    source "arithmetic; process yield in Hopp and Spearman, Factory Physics, 1996";
    { output / good_share.0 }

    /// The share of pieces that come through all stages.
    fn rolled_yield "Rolled yield" (
        good_shares: Vec<Share>, SHARE, "good share of each stage";
    ) -> {
        rolled_yield: Share, "share good through all stages";
    }
    is "rolled_yield = product(good_shares)";
    source "arithmetic; rolled throughput yield of the quality trade";
    { Share(good_shares.iter().map(|share| share.0).product()) }

    /// The whole chain at once, in the order of flow: what each stage must start.
    fn cascade "Requirement cascade" (
        output: Count, NOT_NEGATIVE, "good pieces the last stage must deliver in a period";
        good_shares: Vec<Share>, SOME_SHARE, "good share of each stage, in the order of flow";
    ) -> struct Cascade {
        inputs: Vec<Count>, "pieces each stage must start in the period";
        rolled_yield: Share, "share good through all stages";
    }
    is "inputs[i] = inputs[i + 1] / good_shares[i], the last from output; \
        rolled_yield = product(good_shares)";
    source "arithmetic; process yield in Hopp and Spearman, Factory Physics, 1996";
    {
        let mut wanted = output;
        let mut inputs: Vec<Count> = good_shares
            .iter()
            .rev()
            .map(|share| {
                wanted = wanted / share.0;
                wanted
            })
            .collect();
        inputs.reverse();
        Cascade {
            inputs,
            rolled_yield: Share(good_shares.iter().map(|share| share.0).product()),
        }
    }

    /// One station whose rejects come back to it: how often it works on a piece, and what
    /// comes out in the end. Rework is not scrap: it takes capacity, not metal.
    fn rework_loop "Rework loop" (
        first_time_ok: Share, SOME_SHARE, "share that is good at each pass";
        repairable: Share, SHARE, "share of the rejects that goes round again";
    ) -> struct ReworkLoop {
        passes: Count, "passes per piece entering, mean";
        good_share: Share, "share that leaves good in the end";
        passes_per_good: Count, "passes per good piece leaving, mean";
    }
    is "passes = 1 / (1 - (1 - first_time_ok) * repairable); \
        good_share = first_time_ok * passes; passes_per_good = passes / good_share";
    source "Kemeny and Snell, Finite Markov Chains, 1960 (absorbing chain of one state)";
    {
        let passes = 1.0 / (1.0 - (1.0 - first_time_ok.0) * repairable.0);
        ReworkLoop {
            passes: Count(passes),
            good_share: Share(first_time_ok.0 * passes),
            passes_per_good: Count(1.0 / first_time_ok.0),
        }
    }

    /// The same loop where a piece is given up after so many passes.
    fn rework_loop_capped "Rework loop with an attempt cap" (
        first_time_ok: Share, SOME_SHARE, "share that is good at each pass";
        repairable: Share, SHARE, "share of the rejects that goes round again";
        attempts: Count, WHOLE, "passes a piece may have at most";
    ) -> struct ReworkLoopCapped {
        passes: Count, "passes per piece entering, mean";
        good_share: Share, "share that leaves good in the end";
        passes_per_good: Count, "passes per good piece leaving, mean";
    }
    is "again = (1 - first_time_ok) * repairable; passes = (1 - again^attempts) / (1 - again); \
        good_share = first_time_ok * passes; passes_per_good = passes / good_share";
    source "Kemeny and Snell, Finite Markov Chains, 1960; geometric sum";
    {
        let again = (1.0 - first_time_ok.0) * repairable.0;
        let passes = (1.0 - libm::pow(again, attempts.0)) / (1.0 - again);
        ReworkLoopCapped {
            passes: Count(passes),
            good_share: Share(first_time_ok.0 * passes),
            passes_per_good: Count(1.0 / first_time_ok.0),
        }
    }

    /// Paint with spot repair and a second run: rejects of the inspection are spot-repaired,
    /// run through the booth again, or scrapped; a failed spot repair runs again.
    fn paint_loop "Paint repair loop" (
        good_bodies: Count, NOT_NEGATIVE, "good bodies to deliver in a period";
        first_time_ok: Share, SOME_SHARE, "share of booth passes that is good";
        reject_to_spot: Share, SHARE, "share of rejects sent to spot repair";
        reject_to_rerun: Share, SHARE, "share of rejects sent through the booth again";
        spot_success: Share, SHARE, "share of spot repairs that is good";
    ) -> struct PaintLoop {
        rerun: Share, "chance that a booth pass leads to another";
        passes: Count, "booth passes per body entering, mean";
        spot_visits: Count, "spot repairs per body entering, mean";
        final_yield: Share, "share of bodies that leave good";
        booth_passes: Count, "booth passes in the period";
        spot_repairs: Count, "spot repairs in the period";
    }
    is "rerun = (1 - first_time_ok) * (reject_to_rerun + reject_to_spot * (1 - spot_success)); \
        passes = 1 / (1 - rerun); \
        spot_visits = passes * (1 - first_time_ok) * reject_to_spot; \
        final_yield = passes * first_time_ok + spot_visits * spot_success; \
        booth_passes = good_bodies * passes / final_yield; \
        spot_repairs = good_bodies * spot_visits / final_yield";
    source "Kemeny and Snell, Finite Markov Chains, 1960 (absorbing chain)";
    needs "the shares of rejects add up to 1 at most, the rest is scrapped",
        reject_to_spot.0 + reject_to_rerun.0 <= 1.0 + 1e-12;
    {
        let reject = 1.0 - first_time_ok.0;
        let rerun = reject * (reject_to_rerun.0 + reject_to_spot.0 * (1.0 - spot_success.0));
        let passes = 1.0 / (1.0 - rerun);
        let spot_visits = passes * reject * reject_to_spot.0;
        let final_yield = passes * first_time_ok.0 + spot_visits * spot_success.0;
        PaintLoop {
            rerun: Share(rerun),
            passes: Count(passes),
            spot_visits: Count(spot_visits),
            final_yield: Share(final_yield),
            booth_passes: good_bodies * (passes / final_yield),
            spot_repairs: good_bodies * (spot_visits / final_yield),
        }
    }

    /// Any number of loops: how often a piece visits each station, when every station sends
    /// its pieces on by fixed shares and what a row leaves over goes out there.
    fn absorbing_chain "Visits by absorbing chain" (
        entries: Vec<Count>, NOT_NEGATIVE, "pieces entering at each station";
        routes: Vec<Share>, SHARE, "share sent from each station to each, row by row";
    ) -> struct AbsorbingChain {
        visits: Vec<Count>, "pieces each station works on";
        leaving: Vec<Count>, "pieces that go out at each station";
    }
    is "visits = entries * inverse(1 - routes); \
        leaving[i] = visits[i] * (1 - sum(routes[i]))";
    source "Kemeny and Snell, Finite Markov Chains, 1960";
    needs "`routes` has as many rows and columns as `entries` has stations (at most 300)",
        chain::is_square(entries.len(), routes.len());
    needs "no station sends on more than it gets: each row of `routes` adds up to 1 at most",
        chain::sends_no_more(entries.len(), &chain::plain(&routes));
    needs "every station has a way out, no set of stations keeps its pieces for ever",
        chain::has_way_out(entries.len(), &chain::plain(&routes));
    {
        let size = entries.len();
        let routes = chain::plain(&routes);
        let visits = chain::visits(&chain::plain(&entries), &routes);
        let leaving = visits
            .iter()
            .enumerate()
            .map(|(station, visits)| Count(visits * chain::left_over(size, &routes, station)))
            .collect();
        AbsorbingChain {
            visits: visits.into_iter().map(Count).collect(),
            leaving,
        }
    }
}
