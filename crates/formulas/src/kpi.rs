//! Key figures of ISO 22400-2, with the standard's own symbols.

use units::{Count, Hours, Minutes, Share};

use crate::declare::sheet;
use crate::quantity::PerMinute;
use crate::range::{NOT_NEGATIVE, POSITIVE};

sheet! {
    shop "Key figures (ISO 22400-2)";

    /// The share of planned busy time a unit was producing.
    fn availability "Availability" (
        apt: Minutes, NOT_NEGATIVE, "actual production time";
        pbt: Minutes, POSITIVE, "planned busy time";
    ) -> { availability: Share, "availability"; }
    is "availability = apt / pbt";
    source "ISO 22400-2:2014, availability";
    { Share(apt / pbt) }

    /// How near to its planned speed a unit ran while producing.
    fn effectiveness "Effectiveness" (
        pri: Minutes, POSITIVE, "planned run time an item";
        pq: Count, NOT_NEGATIVE, "produced quantity";
        apt: Minutes, POSITIVE, "actual production time";
    ) -> { effectiveness: Share, "effectiveness"; }
    is "effectiveness = pri * pq / apt";
    source "ISO 22400-2:2014, effectiveness";
    { Share(pri * pq.0 / apt) }

    /// The good share of what was produced.
    fn quality_ratio "Quality ratio" (
        gq: Count, NOT_NEGATIVE, "good quantity";
        pq: Count, POSITIVE, "produced quantity";
    ) -> { quality_ratio: Share, "quality ratio"; }
    is "quality_ratio = gq / pq";
    source "ISO 22400-2:2014, quality ratio";
    needs "good is at most what was produced", gq.0 <= pq.0;
    { Share(gq / pq) }

    /// Overall equipment effectiveness. It equals `pri * gq / pbt`: the run time of the good
    /// items over planned busy time. Shops with different planned busy time do not compare.
    fn oee "OEE" (
        pbt: Minutes, POSITIVE, "planned busy time";
        apt: Minutes, POSITIVE, "actual production time";
        pri: Minutes, POSITIVE, "planned run time an item";
        pq: Count, POSITIVE, "produced quantity";
        gq: Count, NOT_NEGATIVE, "good quantity";
    ) -> struct Oee {
        availability: Share, "availability";
        effectiveness: Share, "effectiveness";
        quality_ratio: Share, "quality ratio";
        oee: Share, "overall equipment effectiveness";
    }
    is "availability = apt / pbt; effectiveness = pri * pq / apt; quality_ratio = gq / pq; \
        oee = availability * effectiveness * quality_ratio";
    source "ISO 22400-2:2014, overall equipment effectiveness index";
    needs "good is at most what was produced", gq.0 <= pq.0;
    {
        let (availability, effectiveness, quality) = (apt / pbt, pri * pq.0 / apt, gq / pq);
        Oee {
            availability: Share(availability),
            effectiveness: Share(effectiveness),
            quality_ratio: Share(quality),
            oee: Share(availability * effectiveness * quality),
        }
    }

    /// Net equipment effectiveness: as OEE, but setting up counts as available.
    fn nee "NEE" (
        pbt: Minutes, POSITIVE, "planned busy time";
        aupt: Minutes, POSITIVE, "actual unit processing time, setting up included";
        apt: Minutes, POSITIVE, "actual production time";
        pri: Minutes, POSITIVE, "planned run time an item";
        pq: Count, POSITIVE, "produced quantity";
        gq: Count, NOT_NEGATIVE, "good quantity";
    ) -> { nee: Share, "net equipment effectiveness"; }
    is "nee = (aupt / pbt) * (pri * pq / apt) * (gq / pq)";
    source "ISO 22400-2:2014, net equipment effectiveness index";
    needs "good is at most what was produced", gq.0 <= pq.0;
    { Share((aupt / pbt) * (pri * pq.0 / apt) * (gq / pq)) }

    /// The share of processing time that goes into setting up.
    fn setup_ratio "Setup ratio" (
        aust: Minutes, NOT_NEGATIVE, "actual unit setup time";
        aupt: Minutes, POSITIVE, "actual unit processing time";
    ) -> { setup_ratio: Share, "setup ratio"; }
    is "setup_ratio = aust / aupt";
    source "ISO 22400-2:2014, setup ratio";
    { Share(aust / aupt) }

    /// How little a unit was held up by its own stops.
    fn technical_efficiency "Technical efficiency" (
        apt: Minutes, POSITIVE, "actual production time";
        adet: Minutes, NOT_NEGATIVE, "actual unit delay time";
    ) -> { technical_efficiency: Share, "technical efficiency"; }
    is "technical_efficiency = apt / (apt + adet)";
    source "ISO 22400-2:2014, technical efficiency";
    { Share(apt / (apt + adet)) }

    /// The producing share of the time a unit was busy.
    fn utilisation_efficiency "Utilisation efficiency" (
        apt: Minutes, NOT_NEGATIVE, "actual production time";
        aubt: Minutes, POSITIVE, "actual unit busy time";
    ) -> { utilisation_efficiency: Share, "utilisation efficiency"; }
    is "utilisation_efficiency = apt / aubt";
    source "ISO 22400-2:2014, utilization efficiency";
    { Share(apt / aubt) }

    /// How much of the planned busy time a unit was really busy.
    fn allocation_efficiency "Allocation efficiency" (
        aubt: Minutes, NOT_NEGATIVE, "actual unit busy time";
        pbt: Minutes, POSITIVE, "planned busy time";
    ) -> { allocation_efficiency: Share, "allocation efficiency"; }
    is "allocation_efficiency = aubt / pbt";
    source "ISO 22400-2:2014, allocation efficiency";
    { Share(aubt / pbt) }

    /// The share of an order's time in which units worked on it.
    fn allocation_ratio "Allocation ratio" (
        aubt: Minutes, NOT_NEGATIVE, "actual unit busy time of all units on the order";
        aoet: Minutes, POSITIVE, "actual order execution time";
    ) -> { allocation_ratio: Share, "allocation ratio"; }
    is "allocation_ratio = aubt / aoet";
    source "ISO 22400-2:2014, allocation ratio";
    { Share(aubt / aoet) }

    /// What an order yields a minute of its execution.
    fn throughput_rate "Throughput rate" (
        pq: Count, NOT_NEGATIVE, "produced quantity";
        aoet: Minutes, POSITIVE, "actual order execution time";
    ) -> { throughput_rate: PerMinute, "throughput rate"; }
    is "throughput_rate = pq / aoet";
    source "ISO 22400-2:2014, throughput rate";
    { PerMinute(pq.0 / aoet.0) }

    /// The scrapped share of what was produced.
    fn scrap_ratio "Scrap ratio" (
        sq: Count, NOT_NEGATIVE, "scrap quantity";
        pq: Count, POSITIVE, "produced quantity";
    ) -> { scrap_ratio: Share, "scrap ratio"; }
    is "scrap_ratio = sq / pq";
    source "ISO 22400-2:2014, scrap ratio";
    needs "scrap is at most what was produced", sq.0 <= pq.0;
    { Share(sq / pq) }

    /// The reworked share of what was produced.
    fn rework_ratio "Rework ratio" (
        rq: Count, NOT_NEGATIVE, "rework quantity";
        pq: Count, POSITIVE, "produced quantity";
    ) -> { rework_ratio: Share, "rework ratio"; }
    is "rework_ratio = rq / pq";
    source "ISO 22400-2:2014, rework ratio";
    { Share(rq / pq) }

    /// The share of inspected parts that is good without rework.
    fn first_pass_yield "First pass yield" (
        gp: Count, NOT_NEGATIVE, "good parts at the first pass";
        ip: Count, POSITIVE, "inspected parts";
    ) -> { first_pass_yield: Share, "first pass yield"; }
    is "first_pass_yield = gp / ip";
    source "ISO 22400-2:2014, first pass yield";
    needs "good is at most what was inspected", gp.0 <= ip.0;
    { Share(gp / ip) }

    /// How much of the upkeep is mending rather than preventing.
    fn corrective_maintenance_ratio "Corrective maintenance ratio" (
        cmt: Hours, NOT_NEGATIVE, "corrective maintenance time";
        pmt: Hours, NOT_NEGATIVE, "planned maintenance time";
    ) -> { corrective_maintenance_ratio: Share, "corrective maintenance ratio"; }
    is "corrective_maintenance_ratio = cmt / (cmt + pmt)";
    source "ISO 22400-2:2014, corrective maintenance ratio";
    needs "there was some upkeep", cmt.0 + pmt.0 > 0.0;
    { Share(cmt / (cmt + pmt)) }

    /// Mean operating time between failures by the standard's divisor, failures plus one: a
    /// log of so many failures has one more running stretch. It is not the estimate of
    /// maximum likelihood; say which one a figure is.
    fn mtbf_iso "MTBF by ISO 22400-2" (
        tbf_sum: Hours, NOT_NEGATIVE, "sum of the times between failures";
        failures: Count, NOT_NEGATIVE, "failure events";
    ) -> { mtbf: Hours, "mean operating time between failures"; }
    is "mtbf = tbf_sum / (failures + 1)";
    source "ISO 22400-2:2014, mean operating time between failures; not verified: its divisor";
    { tbf_sum / (failures.0 + 1.0) }

    /// Mean time to repair by the standard's divisor, failures plus one.
    fn mttr_iso "MTTR by ISO 22400-2" (
        ttr_sum: Hours, NOT_NEGATIVE, "sum of the times to repair";
        failures: Count, NOT_NEGATIVE, "failure events";
    ) -> { mttr: Hours, "mean time to repair"; }
    is "mttr = ttr_sum / (failures + 1)";
    source "ISO 22400-2:2014, mean time to repair; not verified: its divisor";
    { ttr_sum / (failures.0 + 1.0) }
}
