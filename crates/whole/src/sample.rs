//! The plant that tests of this room share.

pub(crate) use book::small::{book, workbook};

/// A plant in small: blanks and panels in lots, a body with two doors, a
/// paint loop, final assembly on carts.
pub(crate) const SMALL_PLANT: &str = "
    [shifts]
    shop,shift,days,start,end
    press,day,mon-fri,06:00,22:00
    body,day,mon-fri,06:00,22:00
    paint,day,mon-fri,06:00,23:00
    assembly,day,mon-fri,06:00,22:00
    [products]
    product,cars_per_week
    short,300
    long,150
    pickup,50
    [options]
    option,product,share,at_most,in_every
    sunroof,,0.3,1,2
    towbar,long,0.5,,
    radio,,0.9,,
    [press_lines]
    press_line,shop,kind,change_min,first_off_min,mtbf_min,mttr_min,units
    blanker,press,blanking,4,1,400,10,1
    big press,press,press,6,3,300,8,2
    [parts]
    part,press_line,blank_line,strokes_per_min,blanks_per_min,pieces_per_stroke,per_car,products,scrap,lot,stock,start_below,rack,to
    roof,big press,blanker,8,30,1,1,short;long,0.02,,,,20,framing
    inner,big press,blanker,10,40,2,2,,0.0,300,500,120,10,door line
    floor,big press,,6,,1,1,,0.0,,,,1,underbody
    bracket,,blanker,,60,1,4,,0.0,,,,1,underbody
    [crews]
    crew,count
    fitters,2
    [stations]
    station,shop,units,cycle_s,spread,mtbf_min,mttr_min,repair_spread,crew,first_time_ok,rework_to,attempts,scrap,takes,source,stage
    underbody,body,1,380,0.05,200,5,1,fitters,1,,,0,any,yes,
    framing,body,1,370,0,240,6,0.5,fitters,1,,,0,one_of_each,,
    door line,body,1,150,0,,,1,,1,,,0,any,,doors
    primer,paint,1,300,0,600,10,0,,1,,,0,any,,
    inspection,paint,1,200,0.1,,,1,,0.9,touch up,3,0.01,any,,
    touch up,paint,2,900,0.3,,,1,,1,,,0,any,,
    trim,assembly,1,390,0.1,300,3,1,,1,,,0,any,,
    doors on,assembly,1,360,0.1,,,1,,1,,,0,one_of_each,,
    [stops]
    station,cause,mtbf_min,mttr_min,basis
    framing,gun,1500,20,clock
    [cycles]
    station,product,option,cycle_s
    trim,,sunroof,430
    trim,long,,410
    framing,long,towbar,400
    [links]
    from,to,holds,move_s,share,products,needs
    underbody,framing,3,20,,,
    framing,primer,20,60,,,
    primer,inspection,4,10,,,
    touch up,inspection,2,30,,,
    inspection,touch up,6,30,,,
    inspection,trim,15,60,,,
    trim,doors on,2,10,,,
    door line,doors on,12,30,,short;long,2
    door line,doors on,6,30,,pickup,2
    [carriers]
    carrier,count,taken_at,returned_at,speed_m_min,loop_m,load_s,unload_s,availability
    cart,9,trim,doors on,30,60,10,20,0.95
";
