//! edges
mod cells;
pub mod kirchhoff;
pub mod line;
mod phasor;
mod skin;
use num_complex::Complex64;
use crate::model::place::Point;
/// experiment
pub fn exp(half:[f64;3],counts:[usize;3],pts:&[([f64;2],f64)],ls:&[Point],ks:&[f64],rich:bool)->(Vec<Vec<Complex64>>,f64){
  let t0=std::time::Instant::now();
  let run=|counts|{
  let sk=skin::Skin::new(half,counts);
  if std::env::var("V").is_ok(){eprintln!("cells {} mesh {:?}",sk.len(),t0.elapsed());}
  let src=vec![sk.sight(&pts.iter().map(|(p,w)|([p[0],p[1],half[2]],*w)).collect::<Vec<_>>())];
  let lst:Vec<_>=sk.sight(&ls.iter().map(|l|([l.x_m,l.y_m,l.z_m+half[2]],1.0)).collect::<Vec<_>>());
  ks.iter().map(|&k|{
   let so=sk.solve(&src,k);
   lst.iter().zip(ls).map(|(l,p)|{
     let g:Complex64=pts.iter().map(|(q,w)|{let r=Point::new(q[0],q[1],0.).distance_m(p);Complex64::from_polar(w/(4.*std::f64::consts::PI*r),-k*r)}).sum();
     1.0+so.heard(0,l)/(2.0*g)}).collect::<Vec<_>>()}).collect::<Vec<_>>()};
  let mut a=run(counts);
  if rich{let b=run(counts.map(|c|c*2)); for (x,y) in a.iter_mut().zip(b){for (x,y) in x.iter_mut().zip(y){*x=2.0*y-*x;}}}
  (a,t0.elapsed().as_secs_f64())
}
